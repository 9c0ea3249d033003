/**
 * Numbers of wires: each stands at the first of its places where no other number is in its way, and
 * is left out where there is none. Those of the traced wire choose first.
 */
const HEIGHT_PX = 15;

/** @param {SVGSVGElement} svg @param {number} pixel mm */
export function setFlags(svg, pixel) {
  const flags = /** @type {SVGGElement[]} */ ([...svg.querySelectorAll("g.flag[data-places]")]);
  /** @type {{x: number, y: number, half: number}[]} */
  const taken = [];
  const first = flags.filter((flag) => flag.classList.contains("is-traced"));
  for (const flag of [...first, ...flags.filter((other) => !first.includes(other))]) {
    const half = Number(flag.querySelector("rect").getAttribute("width")) / 2 + 1;
    const places = flag.dataset.places.split(";").map((place) => place.split(" ").map(Number));
    const free = places.find(([x, y]) => taken.every((other) =>
      Math.abs(other.x - x / pixel) >= other.half + half || Math.abs(other.y - y / pixel) >= HEIGHT_PX));
    flag.classList.toggle("does-not-fit", !free);
    if (!free) continue;
    flag.setAttribute("transform", `translate(${free[0]} ${free[1]})`);
    taken.push({ x: free[0] / pixel, y: free[1] / pixel, half });
  }
}
