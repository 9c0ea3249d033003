/** The points that the chosen wire is led over, as rows beside the board. */

/** One point with its figures. @param {any} point x, y in mm, face @param {number} n */
export function pointRow([x, y, face], n) {
  const line = document.createElement("li");
  const name = document.createElement("span");
  name.textContent = `Point ${n + 1}, ${face}`;
  const field = (axis, value) => {
    const made = document.createElement("input");
    Object.assign(made, { value: String(value), className: "figure", inputMode: "decimal", autocomplete: "off" });
    Object.assign(made.dataset, { point: n, axis });
    made.setAttribute("aria-label", `${axis} of point ${n + 1}, mm`);
    made.setAttribute("aria-describedby", "wire-fault");
    return made;
  };
  const less = document.createElement("button");
  Object.assign(less, { type: "button", className: "button small", textContent: "Take away" });
  less.dataset.less = String(n);
  less.setAttribute("aria-label", `Take point ${n + 1} away`);
  line.append(name, field("x", x), field("y", y), less);
  return line;
}
