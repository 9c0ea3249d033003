/**
 * The part of the drawing that is seen: zoom round a point, and shift. All in the drawing's mm,
 * y down as in a viewBox.
 *
 * @typedef {{x: number, y: number, width: number, height: number}} Frame
 */

const CLOSEST = 16;

export class PlateWindow {
  /** @param {Frame} whole */
  constructor(whole) {
    this.whole = whole;
    this.frame = { ...whole };
  }

  get zoom() {
    return this.whole.width / this.frame.width;
  }

  get isWhole() {
    return this.zoom <= 1.001;
  }

  /** Zoom by a factor so that (x, y) stays where it is. @param {number} factor @param {number} x @param {number} y */
  zoomAt(factor, x, y) {
    const zoom = Math.min(Math.max(this.zoom * factor, 1), CLOSEST);
    const scale = this.whole.width / zoom / this.frame.width;
    this.#show({
      x: x - (x - this.frame.x) * scale, y: y - (y - this.frame.y) * scale,
      width: this.frame.width * scale, height: this.frame.height * scale,
    });
  }

  /** @param {number} factor */
  zoomMiddle(factor) {
    this.zoomAt(factor, this.frame.x + this.frame.width / 2, this.frame.y + this.frame.height / 2);
  }

  /** @param {number} dx @param {number} dy */
  shift(dx, dy) {
    this.#show({ ...this.frame, x: this.frame.x + dx, y: this.frame.y + dy });
  }

  /** Bring a point into the middle unless it is well inside already. @param {number} x @param {number} y */
  reveal(x, y) {
    const { frame } = this;
    const inside = (at, low, size) => at > low + size * 0.15 && at < low + size * 0.85;
    if (inside(x, frame.x, frame.width) && inside(y, frame.y, frame.height)) return;
    this.#show({ ...frame, x: x - frame.width / 2, y: y - frame.height / 2 });
  }

  reset() {
    this.frame = { ...this.whole };
  }

  /** A drawing of another size: the same zoom where it still makes sense. @param {Frame} whole */
  resize(whole) {
    const same = ["x", "y", "width", "height"].every((key) => Math.abs(whole[key] - this.whole[key]) < 1e-6);
    this.whole = whole;
    if (!same) this.reset();
  }

  get viewBox() {
    const { x, y, width, height } = this.frame;
    return [x, y, width, height].map((value) => Number(value.toFixed(4))).join(" ");
  }

  /** @param {Frame} frame */
  #show(frame) {
    const { whole } = this;
    const x = Math.min(Math.max(frame.x, whole.x), whole.x + whole.width - frame.width);
    const y = Math.min(Math.max(frame.y, whole.y), whole.y + whole.height - frame.height);
    this.frame = { x, y, width: frame.width, height: frame.height };
  }
}
