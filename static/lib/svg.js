/** Elements of drawings, made by a script. */

/** An element with its attributes, and others inside. @param {string} name @param {Record<string, string | number>} attributes @param {Element[]} inside */
export function svg(name, attributes, ...inside) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  made.append(...inside);
  return made;
}
