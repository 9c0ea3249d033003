/** Figures and verdicts in words. */

/** A length with at most one decimal. @param {number} value */
export function figure(value) {
  const text = value.toFixed(1).replace(/\.0$/, "");
  return text === "-0" ? "0" : text.replace("-", "\u2212");
}

/**
 * What one touch is, without the name of the module that touches.
 * @param {[string, string, string, number | null, number | null]} touch part, other, kind, value, limit
 * @param {(id: string) => string} title of a part
 */
export function touchWords([, other, kind, value, limit], title) {
  const most = limit ?? 0;
  switch (kind) {
    case "outlines":
      return `on ${title(other)}`;
    case "too near":
      return `${figure(value ?? 0)} mm from ${title(other)}, ${figure(most)} needed`;
    case "keep-free zone":
      return `in a keep-free zone with ${title(other)}`;
    case "plate keep-free zone":
      return `in ${other}, at most ${figure(most)} mm high`;
    case "plate fixing":
      return `on the plate fixing ${other}`;
    case "off plate":
      return (value ?? 0) < 0 ? "off the plate or over a cut-out" : `${figure(value ?? 0)} mm from the edge, ${figure(most)} needed`;
    case "too deep":
      return `hits the wall: ${figure(value ?? 0)} high, ${figure(most)} free`;
    default:
      return kind;
  }
}

/**
 * All touches in one line, those of modules that it brings along with their names; "fits" where there is none.
 * @param {string} held the module in the hand
 * @param {[string, string, string, number | null, number | null][]} touches
 * @param {(id: string) => string} title
 */
export function verdictWords(held, touches, title) {
  const words = touches.map((touch) => (touch[0] === held ? "" : `${title(touch[0])} `) + touchWords(touch, title));
  return [...new Set(words)].join("; ") || "fits";
}

/** A number that a person typed; NaN where it is none. @param {string} text */
export function typedNumber(text) {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  return /^[-+]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
}
