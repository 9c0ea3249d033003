/** Which module lies next in a direction: for choosing with the arrow keys. */

/** @typedef {{id: string, x: number, y: number}} Spot */

/**
 * The nearest one ahead; what lies more aside than twice ahead only where there is nothing else.
 * @param {Spot} from @param {Spot[]} others @param {"left" | "right" | "up" | "down"} way
 * @returns {string | null}
 */
export function nextIn(from, others, way) {
  const [wx, wy] = { left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1] }[way];
  const ahead = (/** @type {Spot} */ other) => (other.x - from.x) * wx + (other.y - from.y) * wy;
  const aside = (/** @type {Spot} */ other) => Math.abs((other.x - from.x) * wy + (other.y - from.y) * wx);
  const found = others.filter((other) => other.id !== from.id && ahead(other) > 0.001);
  const straight = found.filter((other) => aside(other) <= 2 * ahead(other));
  const cost = (/** @type {Spot} */ other) => ahead(other) + 2 * aside(other);
  const [next] = (straight.length ? straight : found).sort((a, b) => cost(a) - cost(b));
  return next?.id ?? null;
}
