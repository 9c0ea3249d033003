/**
 * How a module's name is set: on one line, on two, turned to read from the right, or not at all
 * where nothing fits. Widths are pixels at the present zoom.
 *
 * @typedef {{lines: string[], turned: boolean, height: boolean}} Setting
 */

const LINE = 16;

/**
 * @param {string} name @param {string} height words below it, "15 high"
 * @param {number} width of the clear room @param {number} depth of it
 * @param {(text: string) => number} measure width of a text
 * @returns {Setting | null}
 */
export function setName(name, height, width, depth, measure) {
  for (const turned of [false, true]) {
    const [along, across] = turned ? [depth, width] : [width, depth];
    for (const withHeight of height ? [true, false] : [false]) {
      for (const lines of breaks(name)) {
        const rows = lines.length + (withHeight ? 1 : 0);
        const wide = Math.max(...lines.map(measure), withHeight ? measure(height) * 0.85 : 0);
        if (wide <= along && rows * LINE <= across) return { lines, turned, height: withHeight };
      }
    }
  }
  return null;
}

/**
 * Which boxes stay clear of all that come before them.
 * @param {{left: number, right: number, bottom: number, top: number}[]} boxes
 * @returns {boolean[]}
 */
export function clearOnes(boxes) {
  const kept = /** @type {typeof boxes} */ ([]);
  return boxes.map((box) => {
    const clear = !kept.some((k) => k.left < box.right && box.left < k.right && k.bottom < box.top && box.bottom < k.top);
    if (clear) kept.push(box);
    return clear;
  });
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
