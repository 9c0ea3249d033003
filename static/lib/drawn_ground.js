/**
 * What a module's drawing is made of, in pixels round its origin, y down, read from its elements
 * alone: nothing here makes the browser lay anything out.
 *
 * @typedef {{left: number, right: number, top: number, bottom: number}} Box
 * @typedef {{x: number, y: number, r: number}} Disc
 * @typedef {[number, number, number, number]} Stroke
 * @typedef {{outline: [number, number][], discs: Disc[], strokes: Stroke[], boxes: Box[]}} Ground
 */

const SIGN_PX = 10;
const DRAWN = "circle, path:not(.focus-ring, .focus-gap, .pen-none)";

/** @param {Element} module a group of the board @param {number} pixel mm @returns {Ground} */
export function groundOf(module, pixel) {
  const drawn = [...module.querySelectorAll(DRAWN)].filter((shape) => !shape.closest(".px, .chosen-ticks"));
  const circles = drawn.filter((shape) => shape.tagName === "circle");
  const rings = drawn.filter((shape) => shape.tagName === "path").map((path) => pointsOf(path.getAttribute("d"), pixel));
  return {
    outline: (rings[0] ?? []).map(({ x, y }) => /** @type {[number, number]} */ ([x, y])),
    discs: circles.map((circle) => ({
      x: Number(circle.getAttribute("cx")) / pixel, y: -Number(circle.getAttribute("cy")) / pixel,
      r: Number(circle.getAttribute("r")) / pixel,
    })),
    strokes: rings.flatMap(strokesOf),
    boxes: signsOf(module, pixel),
  };
}

/** The pieces of one path's line. @param {Element} path @param {number} pixel mm @returns {Stroke[]} */
export function linesOf(path, pixel) {
  return strokesOf(pointsOf(path.getAttribute("d"), pixel));
}

/** The ground of a module's signs: its padlock, the arrow of its warm air. @param {Element} module @param {number} pixel @returns {Box[]} */
export function signsOf(module, pixel) {
  return [...module.querySelectorAll(":scope > g.mark")].map((sign) => placeOf(sign, pixel))
    .map(({ x, y }) => ({ left: x - SIGN_PX, right: x + SIGN_PX, top: y - SIGN_PX, bottom: y + SIGN_PX }));
}

/** Where a group stands in its parent. @param {Element} group @param {number} pixel */
export function placeOf(group, pixel) {
  const [x, y] = /\(([^)]*)\)/.exec(group.getAttribute("transform"))[1].split(/[ ,]+/).map(Number);
  return { x: x / pixel, y: -y / pixel };
}

/** A box of the drawing, "x0 y0 x1 y1" in mm, y up. @param {string} words @param {number} pixel @returns {Box} */
export function boxOf(words, pixel) {
  const [x0, y0, x1, y1] = words.split(" ").map((word) => Number(word) / pixel);
  return { left: x0, right: x1, top: -y1, bottom: -y0 };
}

/** @param {Box} box @param {{x: number, y: number}} by @returns {Box} */
export function shifted(box, { x, y }) {
  return { left: box.left + x, right: box.right + x, top: box.top + y, bottom: box.bottom + y };
}

/** @param {Box} a @param {Box} b */
export function meet(a, b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/** @param {Box} box @param {Disc} disc */
export function meetsDisc(box, { x, y, r }) {
  const dx = Math.max(box.left - x, 0, x - box.right);
  const dy = Math.max(box.top - y, 0, y - box.bottom);
  return dx * dx + dy * dy < r * r;
}

/** Whether a circle's line runs through a box. @param {Box} box @param {Disc} disc */
export function meetsRing(box, { x, y, r }) {
  const dx = Math.max(Math.abs(box.left - x), Math.abs(box.right - x));
  const dy = Math.max(Math.abs(box.top - y), Math.abs(box.bottom - y));
  return meetsDisc(box, { x, y, r }) && dx * dx + dy * dy > r * r;
}

/** Whether any of a stroke lies in a box: what is left of it between the box's sides. @param {Box} box @param {Stroke} stroke */
export function meetsStroke(box, [x1, y1, x2, y2]) {
  let [from, to] = [0, 1];
  const sides = [[x1 - x2, x1 - box.left], [x2 - x1, box.right - x1], [y1 - y2, y1 - box.top], [y2 - y1, box.bottom - y1]];
  for (const [rise, room] of sides) {
    if (rise === 0 && room <= 0) return false;
    if (rise < 0) from = Math.max(from, room / rise);
    if (rise > 0) to = Math.min(to, room / rise);
  }
  return from < to;
}

/** Whether a box lies within closed lines, off all holes in them. @param {Stroke[]} strokes @param {Box} box */
export function holds(strokes, box) {
  if (strokes.some((stroke) => meetsStroke(box, stroke))) return false;
  const [x, y] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  const crossed = strokes.filter(([ax, ay, bx, by]) => ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax);
  return crossed.length % 2 === 1;
}

/** @param {[number, number][]} ring @param {number} x @param {number} y */
export function within(ring, x, y) {
  let inside = false;
  for (let n = 0, last = ring.length - 1; n < ring.length; last = n++) {
    const [[ax, ay], [bx, by]] = [ring[n], ring[last]];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  }
  return inside;
}

/** The corners of a path, and where it starts anew; a closing step ends where its ring began. @param {string} d @param {number} pixel */
function pointsOf(d, pixel) {
  let first = { x: 0, y: 0 };
  return [...d.matchAll(/([MLCZ])([^MLCZ]*)/g)].map(([, letter, numbers]) => {
    if (letter === "Z") return { letter, ...first };
    const [x, y] = numbers.trim().split(/[ ,]+/).slice(-2).map((number) => Number(number) / pixel);
    if (letter === "M") first = { x, y: -y };
    return { letter, x, y: -y };
  });
}

/** @param {ReturnType<typeof pointsOf>} points @returns {Stroke[]} */
function strokesOf(points) {
  return points.flatMap(({ letter, x, y }, n) => {
    const from = points[n - 1];
    return letter === "M" ? [] : [/** @type {Stroke} */ ([from.x, from.y, x, y])];
  });
}
