/**
 * Where the printed marks of a module's terminals stand so that they are read: never over a hole, a
 * line or other lettering. All in pixels round the module's origin, y down.
 *
 * @typedef {"right" | "down" | "left" | "up"} Side
 * @typedef {{x: number, y: number, inward: Side, width: number, height: number}} Mark
 * @typedef {{box: import("./drawn_ground.js").Box, side: Side, turned: boolean}} Spot
 */
import { meet, meetsDisc, meetsStroke, within } from "./drawn_ground.js";

export const GAP = 2; // between a terminal's circle and its mark
const BESIDE = 1; // the same, where it stands between its own terminal and the next one
const APART = 3; // between two marks, along their line
const APART_ROWS = 1.5; // between the letters of two, across their lines
const OTHERS = 8; // beside its terminal, from another one that it could be taken for
const OTHERS_ALIKE = 4; // the same in a row that is marked alike: its ends show which belongs to which
const CLEAR = 1.5; // between letters and lines
const INK = 0.62; // of a line's height, what letters without tails take
const SIDES = /** @type {Side[]} */ (["right", "down", "left", "up"]);

/**
 * A row of terminals is marked alike where that can be; else each mark takes the first spot that is
 * clear, and one that finds none is left out at this zoom.
 * @param {Mark[]} marks @param {number} radius of a terminal's circle
 * @param {import("./drawn_ground.js").Ground} ground @returns {(Spot | null)[]}
 */
export function placeMarks(marks, radius, ground) {
  const taken = [];
  const found = new Map();
  const take = (/** @type {Mark} */ mark, /** @type {Spot | null} */ spot) => {
    found.set(mark, spot);
    if (spot) taken.push(keptBy(spot));
  };
  for (const row of rowsOf(marks)) {
    const alike = spotsOf(row[0], radius).map((_, n) => row.map((mark) => spotsOf(mark, radius)[n]))
      .find((spots) => spots.every((spot, n) => spot && isClear(spot, row[n], ground, [...taken, ...spots.slice(0, n).map(keptBy)], row.length > 1 ? OTHERS_ALIKE : OTHERS)));
    for (const [n, mark] of row.entries()) {
      take(mark, alike ? alike[n] : spotsOf(mark, radius).find((spot) => isClear(spot, mark, ground, taken)) ?? null);
    }
  }
  return marks.map((mark) => found.get(mark));
}

/** What names leave clear where they can: the mark on the inner side. @param {Mark} mark @param {number} radius */
export function wantedBy(mark, radius) {
  const [{ box, turned }] = spotsOf(mark, radius);
  return inked(box, turned, 0);
}

/** Terminals in one line whose wires leave alike. @param {Mark[]} marks @returns {Mark[][]} */
function rowsOf(marks) {
  const rows = new Map();
  for (const mark of marks) {
    const across = mark.inward === "left" || mark.inward === "right" ? mark.x : mark.y;
    const key = `${mark.inward} ${Math.round(across)}`;
    rows.set(key, [...(rows.get(key) ?? []), mark]);
  }
  return [...rows.values()];
}

/** Inner side, the two beside it, outer side; then the upright ones turned to read from the right. @param {Mark} mark @param {number} radius @returns {Spot[]} */
function spotsOf(mark, radius) {
  const first = SIDES.indexOf(mark.inward);
  const sides = [0, 1, 3, 2].map((step) => SIDES[(first + step) % 4]);
  const lying = sides.map((side, n) => spotAt(mark, side, radius + (n === 1 || n === 2 ? BESIDE : GAP), false));
  const upright = mark.width > mark.height * INK ? sides.filter((side) => side === "up" || side === "down") : []; // one letter turned is a riddle
  const turned = upright.map((side) => spotAt(mark, side, radius + GAP, true));
  return [...lying, ...turned];
}

/** @param {Mark} mark @param {Side} side @param {number} off @param {boolean} turned @returns {Spot} */
function spotAt({ x, y, width, height }, side, off, turned) {
  const [wide, high] = turned ? [height, width] : [width, height];
  const ink = turned ? width : height * INK; // its line may reach over its own circle, its letters not
  if (side === "right") return { side, turned, box: { left: x + off, right: x + off + wide, top: y - high / 2, bottom: y + high / 2 } };
  if (side === "left") return { side, turned, box: { left: x - off - wide, right: x - off, top: y - high / 2, bottom: y + high / 2 } };
  const middle = side === "down" ? y + off + ink / 2 : y - off - ink / 2;
  return { side, turned, box: { left: x - wide / 2, right: x + wide / 2, top: middle - high / 2, bottom: middle + high / 2 } };
}

/** @param {Spot} spot @param {Mark} mark @param {import("./drawn_ground.js").Ground} ground @param {import("./drawn_ground.js").Box[]} taken */
function isClear({ box, side, turned }, mark, { outline, discs, strokes, boxes }, taken, others = OTHERS) {
  const ink = inked(box, turned);
  const isBeside = SIDES.indexOf(side) % 2 !== SIDES.indexOf(mark.inward) % 2;
  const free = isBeside ? others : 1;
  const own = keptBy({ box, turned });
  const [dx, dy] = turned ? [APART_ROWS, APART] : [APART, APART_ROWS];
  const wide = { left: own.left - dx, right: own.right + dx, top: own.top - dy, bottom: own.bottom + dy };
  return within(outline, (box.left + box.right) / 2, (box.top + box.bottom) / 2)
    && !taken.some((other) => meet(wide, other))
    && !boxes.some((name) => meet(inked(box, turned, 0), name))
    && !discs.some((disc) => !isOwn(disc, mark) && meetsDisc(box, { ...disc, r: disc.r + free }))
    && !strokes.some((stroke) => !isOwnSlot(stroke, mark) && meetsStroke(ink, stroke));
}

/** What a mark keeps others off. @param {{box: import("./drawn_ground.js").Box, turned: boolean}} spot */
function keptBy({ box, turned }) {
  return inked(box, turned, 0);
}

/** The part of a line's box that its letters take, and a little more. @param {import("./drawn_ground.js").Box} box @param {boolean} turned */
function inked({ left, right, top, bottom }, turned, clear = CLEAR) {
  const cut = ((turned ? right - left : bottom - top) * (1 - INK)) / 2;
  const [dx, dy] = turned ? [cut - clear, -clear] : [-clear, cut - clear];
  return { left: left + dx, right: right - dx, top: top + dy, bottom: bottom - dy };
}

function isOwn(disc, mark) {
  return Math.hypot(disc.x - mark.x, disc.y - mark.y) < 0.5;
}

function isOwnSlot([x1, y1, x2, y2], mark) {
  return Math.hypot((x1 + x2) / 2 - mark.x, (y1 + y2) / 2 - mark.y) < 0.5;
}
