/** What the document takes (the server has the last word). */

export const MOST_MM = 5000; // of a coordinate or length

/** The nearest coordinate that the document takes. @param {number} value in mm */
export function within(value) {
  return Math.max(-MOST_MM, Math.min(MOST_MM, value));
}
