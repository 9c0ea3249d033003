/**
 * Numbers of wires: each stands at the first of its places where no module's name and no other
 * number is in its way, and is left out where there is none. Those of the traced wire choose first,
 * those of the far face last.
 */
import { meet } from "./drawn_ground.js";

const HALF_HEIGHT_PX = 7.5;
const names = new WeakMap(); // drawing -> where the names of its modules stand

/** @typedef {import("./drawn_ground.js").Box} Box */

/** @param {SVGSVGElement} svg @param {number} pixel mm @param {Box[]} [written] where names stand, pixels; those of before where they stay */
export function setFlags(svg, pixel, written) {
  if (written) names.set(svg, written);
  const boxes = [...(names.get(svg) ?? [])];
  const flags = /** @type {SVGGElement[]} */ ([...svg.querySelectorAll("g.flag[data-places]")]);
  const rank = (/** @type {Element} */ flag) => (flag.classList.contains("is-traced") ? 0 : flag.closest(".far") ? 2 : 1);
  for (const flag of flags.map((one) => ({ one, rank: rank(one) })).sort((a, b) => a.rank - b.rank).map(({ one }) => one)) {
    const half = Number(flag.querySelector("rect").getAttribute("width")) / 2 + 1;
    const places = flag.dataset.places.split(";").map((place) => place.split(" ").map(Number));
    const boxAt = ([x, y]) => ({
      left: x / pixel - half, right: x / pixel + half, top: -y / pixel - HALF_HEIGHT_PX, bottom: -y / pixel + HALF_HEIGHT_PX,
    });
    const free = places.find((place) => !boxes.some((box) => meet(box, boxAt(place))));
    flag.classList.toggle("does-not-fit", !free);
    if (!free) continue;
    flag.setAttribute("transform", `translate(${free[0]} ${free[1]})`);
    boxes.push(boxAt(free));
  }
}
