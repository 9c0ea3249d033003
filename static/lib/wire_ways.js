/**
 * Ways of wires on the plate: which is under the pointer, where a point of one's own comes in.
 *
 * @typedef {[number, number, string]} PathPoint x, y in mm as seen from the front, face
 * @typedef {{away: number, along: number, x: number, y: number, face: string}} Near
 */

/** The nearest place of a path to a point, on one of the faces; null where it runs on none. @param {PathPoint[]} path @param {{x: number, y: number}} point @param {string[]} faces @returns {Near | null} */
export function nearest(path, { x, y }, faces) {
  let found = null;
  let before = 0;
  path.slice(1).forEach(([bx, by, face], n) => {
    const [ax, ay, from] = path[n];
    const [dx, dy] = [bx - ax, by - ay];
    const length = Math.hypot(dx, dy);
    if (from === face && faces.includes(face)) {
      const share = length ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / length ** 2)) : 0;
      const at = { x: ax + dx * share, y: ay + dy * share };
      const away = Math.hypot(x - at.x, y - at.y);
      if (!found || away < found.away) found = { ...at, away, face, along: before + length * share };
    }
    before += length;
  });
  return found;
}

/** Where among the points that a wire is led over another one comes in. @param {PathPoint[]} path @param {PathPoint[]} via @param {number} along mm */
export function rankOf(path, via, along) {
  return via.filter(([x, y, face]) => (nearest(path, { x, y }, [face])?.along ?? Infinity) < along).length;
}

/** The middle of the longest leg on one of the faces. @param {PathPoint[]} path @param {string[]} faces @returns {Near | null} */
export function middleOf(path, faces) {
  let longest = null;
  path.slice(1).forEach(([bx, by, face], n) => {
    const [ax, ay, from] = path[n];
    const length = Math.hypot(bx - ax, by - ay);
    if (from !== face || !faces.includes(face) || (longest && length <= longest.length)) return;
    longest = { length, x: (ax + bx) / 2, y: (ay + by) / 2 };
  });
  return longest && nearest(path, longest, faces);
}

/** The points that hold a wire where it lies: its bends, or its middle where it has none. @param {PathPoint[]} path @returns {PathPoint[]} */
export function bendsOf(path) {
  if (path.length > 2) return path.slice(1, -1);
  const [[ax, ay, face], [bx, by]] = path;
  return [[(ax + bx) / 2, (ay + by) / 2, face]];
}
