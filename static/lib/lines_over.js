/**
 * What is drawn over the modules of a board and makes their names hard to read: holes and outlines
 * of the other face, runs beneath modules, the circles of aerials with their figures. Pixels in the
 * drawing, y down.
 *
 * @typedef {import("./drawn_ground.js").Box} Box
 * @typedef {import("./drawn_ground.js").Disc} Disc
 * @typedef {{discs: Disc[], strokes: import("./drawn_ground.js").Stroke[], rings: Disc[], boxes: Box[]}} Over
 */
import { groundOf, linesOf, meet, meetsDisc, meetsRing, meetsStroke, placeOf, shifted } from "./drawn_ground.js";

const CLEAR = 1; // round a hole

/**
 * @param {SVGSVGElement} svg @param {number} pixel mm
 * @param {(text: Element) => {size: number, widthOf: (words: string) => number}} fontOf @returns {Over}
 */
export function linesOver(svg, pixel, fontOf) {
  const behind = [...svg.querySelectorAll(".other_face > [transform]")].map((group) => shiftedLines(group, pixel));
  const beneath = [...svg.querySelectorAll(".runs_beneath:not(.far) path")];
  const aerials = [...svg.querySelectorAll(".aerials > [transform]")];
  return {
    discs: behind.flatMap(({ discs }) => discs.map((disc) => ({ ...disc, r: disc.r + CLEAR }))),
    strokes: [...behind.flatMap(({ strokes }) => strokes), ...beneath.flatMap((path) => linesOf(path, pixel))],
    rings: aerials.flatMap((group) => shiftedLines(group, pixel).discs),
    boxes: aerials.flatMap((group) => [...group.querySelectorAll("text")].map((text) => figureBox(text, group, pixel, fontOf))),
  };
}

/** What of it lies within a box. @param {Over} over @param {Box} box @returns {Over} */
export function near({ discs, strokes, rings, boxes }, box) {
  return {
    discs: discs.filter((disc) => meetsDisc(box, disc)),
    strokes: strokes.filter((stroke) => meetsStroke(box, stroke)),
    rings: rings.filter((ring) => meetsRing(box, ring)),
    boxes: boxes.filter((other) => meet(box, other)),
  };
}

/** @param {Over} over @param {Box} box */
export function isClearOf({ discs, strokes, rings, boxes }, box) {
  return !discs.some((disc) => meetsDisc(box, disc)) && !strokes.some((stroke) => meetsStroke(box, stroke))
    && !rings.some((ring) => meetsRing(box, ring)) && !boxes.some((other) => meet(box, other));
}

/** The lines and circles of a group where they stand in the drawing. @param {Element} group @param {number} pixel */
function shiftedLines(group, pixel) {
  const { discs, strokes } = groundOf(group, pixel);
  const by = placeOf(group, pixel);
  return {
    discs: discs.map(({ x, y, r }) => ({ x: x + by.x, y: y + by.y, r })),
    strokes: strokes.map(([x1, y1, x2, y2]) => /** @type {import("./drawn_ground.js").Stroke} */ ([x1 + by.x, y1 + by.y, x2 + by.x, y2 + by.y])),
  };
}

/** The ground of a figure that stands in the middle of its place. @returns {Box} */
function figureBox(text, group, pixel, fontOf) {
  const { size, widthOf } = fontOf(text);
  const [wide, high] = [widthOf(text.textContent) / 2, size * 0.6];
  const at = placeOf(text.closest("[transform]:not(.px)"), pixel);
  return shifted({ left: at.x - wide, right: at.x + wide, top: at.y - high, bottom: at.y + high }, placeOf(group, pixel));
}
