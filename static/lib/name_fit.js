/**
 * How a module's name is set: on one line, on two, turned to read from the right, smaller, beside
 * the module, or not at all where nothing fits. Lengths are pixels at the present zoom, y down.
 *
 * @typedef {{lines: string[], turned: boolean, height: boolean}} Lines
 * @typedef {Lines & {size: number, x: number, y: number, boxes: import("./drawn_ground.js").Box[]}} Setting
 */

export const LINE_PX = 15; // from line to line
export const TIGHT = 0.875; // the smaller size of a name, of the usual one
const LINE = 16; // room that a line takes
const BESIDE = 4;

/**
 * @param {string} name @param {string} height words below it, "15 high"
 * @param {number} width of the clear room @param {number} depth of it
 * @param {(text: string) => number} measure width of a text @param {number} [line] room of a line
 * @returns {Lines | null}
 */
export function setName(name, height, width, depth, measure, line = LINE) {
  return ways(name, height, width, depth, measure, line).next().value ?? null;
}

/** All ways of setting a name into a room, the best first. @returns {Generator<Lines>} */
function* ways(name, height, width, depth, measure, line) {
  for (const turned of [false, true]) {
    const [along, across] = turned ? [depth, width] : [width, depth];
    for (const withHeight of height ? [true, false] : [false]) {
      for (const lines of breaks(name)) {
        const rows = lines.length + (withHeight ? 1 : 0);
        const wide = Math.max(...lines.map(measure), withHeight ? measure(height) * 0.85 : 0);
        if (wide <= along && rows * line <= across) yield { lines, turned, height: withHeight };
      }
    }
  }
}

/**
 * The name in the first room that holds it, in the largest of some sizes that does.
 * @param {string} name @param {string} height @param {import("./drawn_ground.js").Box[]} rooms
 * @param {number[]} sizes of the usual one, falling @param {(text: string) => number} measure
 * @param {(box: import("./drawn_ground.js").Box) => boolean} isFree whether a line may stand there
 * @param {number} [most] ways of breaking and turning it that are tried in each room
 * @returns {Setting | null}
 */
export function setInRooms(name, height, rooms, sizes, measure, isFree, most = 1) {
  for (const room of rooms) {
    for (const size of sizes) {
      const sized = (/** @type {string} */ words) => measure(words) * size;
      let tried = 0;
      for (const set of ways(name, height, room.right - room.left, room.bottom - room.top, sized, LINE * size)) {
        if (tried++ === most) break;
        const setting = { ...set, ...placed(set, size, (room.left + room.right) / 2, (room.top + room.bottom) / 2, height, measure) };
        if (setting.boxes.every(isFree)) return setting;
      }
    }
  }
  return null;
}

/**
 * The name close to its module: on one line and on more, each below, above, right and left of it.
 * @param {string} name @param {import("./drawn_ground.js").Box} own the module's
 * @param {(text: string) => number} measure @returns {Setting[]}
 */
export function besides(name, own, measure) {
  const [x, y] = [(own.left + own.right) / 2, (own.top + own.bottom) / 2];
  return breaks(name).flatMap((lines) => {
    const wide = Math.max(...lines.map(measure)) * TIGHT / 2 + BESIDE;
    const high = (lines.length * LINE_PX * TIGHT) / 2 + BESIDE;
    const set = { lines, turned: false, height: false };
    const sides = [[x, own.bottom + high], [x, own.top - high], [own.right + wide, y], [own.left - wide, y]];
    return sides.map(([sx, sy]) => ({ ...set, ...placed(set, TIGHT, sx, sy, "", measure) }));
  });
}

/** Where a setting stands and which boxes its lines take. */
function placed({ lines, turned, height }, size, x, y, below, measure) {
  const words = height ? [...lines, below] : lines;
  const line = LINE_PX * size;
  const boxes = words.map((row, n) => {
    const [along, off] = [(measure(row) * size) / 2, (n - (words.length - 1) / 2) * line];
    return turned ? { left: x + off - line / 2, right: x + off + line / 2, top: y - along, bottom: y + along }
      : { left: x - along, right: x + along, top: y + off - line / 2, bottom: y + off + line / 2 };
  });
  return { size, x, y, boxes };
}

/** The name whole, then broken into two and three lines as evenly as it goes. @param {string} name */
export function breaks(name) {
  const words = name.split(" ");
  const found = [[name]];
  if (words.length > 1) found.push(evenly(words, 2));
  if (words.length > 2) found.push(evenly(words, 3));
  return found;
}

/** @param {string[]} words @param {number} count @returns {string[]} */
function evenly(words, count) {
  if (count === 1) return [words.join(" ")];
  let best = /** @type {string[]} */ ([]);
  let longest = Infinity;
  for (let first = 1; first <= words.length - count + 1; first++) {
    const lines = [words.slice(0, first).join(" "), ...evenly(words.slice(first), count - 1)];
    const most = Math.max(...lines.map((line) => line.length));
    if (most < longest) [best, longest] = [lines, most];
  }
  return best;
}
