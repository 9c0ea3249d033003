/**
 * Numbers of wires, names of runs and of holes for wires: each stands at the first of its places where no module's name,
 * no other of them and, if it can be, no printed mark is in its way, and is left out where there is
 * none. Those of the traced wire choose first; numbers go before names, those of the far face last.
 * A name covers no mark, and stands only at a run that is longer than it, or that one traces.
 */
import { meet } from "./drawn_ground.js";

const HALF_HEIGHT_PX = 7.5;
const lettered = new WeakMap(); // drawing -> where names and marks of its modules stand

/** @typedef {import("./drawn_ground.js").Box} Box */

/** @param {SVGSVGElement} svg @param {number} pixel mm @param {{names: Box[], marks: Box[]}} [written] where they stand, pixels; those of before where they stay */
export function setFlags(svg, pixel, written) {
  if (written) lettered.set(svg, written);
  const { names, marks } = lettered.get(svg) ?? { names: [], marks: [] };
  const boxes = [...names];
  const flags = /** @type {SVGGElement[]} */ ([...svg.querySelectorAll("g.flag[data-places]")]);
  for (const flag of flags.map((one) => ({ one, rank: rankOf(one) })).sort((a, b) => a.rank - b.rank).map(({ one }) => one)) {
    const half = Number(flag.querySelector("rect").getAttribute("width")) / 2 + 1;
    const places = flag.dataset.places.split(";").map((place) => place.split(" ").map(Number));
    const boxAt = ([x, y]) => ({
      left: x / pixel - half, right: x / pixel + half, top: -y / pixel - HALF_HEIGHT_PX, bottom: -y / pixel + HALF_HEIGHT_PX,
    });
    const isMeant = isTraced(flag) || !flag.dataset.long || Number(flag.dataset.long) / pixel > 2 * half;
    const open = isMeant ? places.filter((place) => !boxes.some((box) => meet(box, boxAt(place)))) : [];
    const clear = open.find((place) => !marks.some((box) => meet(box, boxAt(place))));
    const free = clear ?? (isName(flag) ? undefined : open[0]);
    flag.classList.toggle("does-not-fit", !free);
    if (!free) continue;
    flag.setAttribute("transform", `translate(${free[0]} ${free[1]})`);
    boxes.push(boxAt(free));
  }
}

/** @param {Element} flag */
const isTraced = (flag) => flag.classList.contains("is-traced");

/** Whether it is the name of a run or hole, not a wire's number. @param {SVGGElement} flag */
const isName = (flag) => Boolean(flag.dataset.run || flag.dataset.hole);

/** Who chooses before whom. @param {SVGGElement} flag */
function rankOf(flag) {
  const later = isName(flag) ? 1 : 0;
  if (isTraced(flag)) return later;
  return flag.closest(".far") ? 4 : 2 + later;
}
