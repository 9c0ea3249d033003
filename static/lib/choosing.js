/** Which module lies next in a direction: for choosing with the arrow keys. */

/** @typedef {{id: string, x: number, y: number}} Spot */

/**
 * @param {Spot} from @param {Spot[]} others @param {"left" | "right" | "up" | "down"} way
 * @returns {string | null}
 */
export function nextIn(from, others, way) {
  const [wx, wy] = { left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1] }[way];
  let best = /** @type {string | null} */ (null);
  let least = Infinity;
  for (const other of others) {
    const dx = other.x - from.x;
    const dy = other.y - from.y;
    const ahead = dx * wx + dy * wy;
    const aside = Math.abs(dx * wy) + Math.abs(dy * wx);
    if (other.id === from.id || ahead <= 0.001) continue;
    const cost = ahead + 2 * aside;
    if (cost < least) [best, least] = [other.id, cost];
  }
  return best;
}
