/**
 * Where a held module snaps to: a grid counted from the datum corner, and its neighbours' edges
 * and middles. All figures are mm in the plate frame.
 *
 * @typedef {{left: number, bottom: number, right: number, top: number}} Box
 * @typedef {{way: "x" | "y", at: number}} Chalk  a line at x = at or y = at
 */

/** The box moved. @param {Box} box @param {number} dx @param {number} dy @returns {Box} */
export function shifted(box, dx, dy) {
  return { left: box.left + dx, bottom: box.bottom + dy, right: box.right + dx, top: box.top + dy };
}

/**
 * The shift that brings a box to its snapped place. A neighbour within `reach` wins over the grid.
 * @param {Box} box where it is held @param {Box[]} others @param {number} grid 0: no grid
 * @param {number} reach mm
 * @returns {{dx: number, dy: number, chalk: Chalk[]}}
 */
export function snapped(box, others, grid, reach) {
  const x = along(box.left, box.right, others.map((o) => [o.left, o.right]), grid, reach);
  const y = along(box.bottom, box.top, others.map((o) => [o.bottom, o.top]), grid, reach);
  const chalk = [];
  if (x.at !== null) chalk.push({ way: /** @type {const} */ ("x"), at: x.at });
  if (y.at !== null) chalk.push({ way: /** @type {const} */ ("y"), at: y.at });
  return { dx: x.shift, dy: y.shift, chalk };
}

/**
 * One axis: edges to edges and middles to middles; the nearest line within reach.
 * @param {number} low @param {number} high @param {number[][]} spans
 * @param {number} grid @param {number} reach
 * @returns {{shift: number, at: number | null}}
 */
function along(low, high, spans, grid, reach) {
  let best = { shift: Infinity, at: /** @type {number | null} */ (null) };
  const middle = (low + high) / 2;
  for (const [from, to] of spans) {
    for (const [mine, line] of [
      [low, from], [low, to], [high, from], [high, to], [middle, (from + to) / 2],
    ]) {
      if (Math.abs(line - mine) < Math.abs(best.shift)) best = { shift: line - mine, at: line };
    }
  }
  if (Math.abs(best.shift) <= reach) return best;
  return { shift: grid > 0 ? toGrid(low, grid) - low : 0, at: null };
}

/** The nearest multiple of the grid. @param {number} value @param {number} grid */
export function toGrid(value, grid) {
  return Math.round(value / grid) * grid;
}
