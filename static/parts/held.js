/**
 * A module in the hand: where it was, where it is, what comes along. Placements are those of the
 * document: origin in the plate frame, mm; `box` is its outline's box round that origin.
 *
 * @typedef {{face: string, x: number, y: number, turn: number}} Placement
 * @typedef {import("../lib/snapping.js").Box} Box
 */
import { shifted, snapped } from "../lib/snapping.js";

export class Held {
  /**
   * @param {string} id @param {Placement | null} start null: it comes from the tray
   * @param {Placement} place where it is now @param {Box} box round its origin
   * @param {Map<string, Placement>} mates what moves along, where it stood
   */
  constructor(id, start, place, box, mates = new Map()) {
    this.id = id;
    this.start = start;
    this.place = place;
    this.box = box;
    this.mates = mates;
    this.from = start; // where it stood when its mates stood where they are noted
    this.chalk = /** @type {import("../lib/snapping.js").Chalk[]} */ ([]);
  }

  /** The outline's box on the plate. */
  get outline() {
    return shifted(this.box, this.place.x, this.place.y);
  }

  get isMoved() {
    const { start, place } = this;
    return !start || start.face !== place.face || start.turn !== place.turn
      || Math.abs(start.x - place.x) > 1e-6 || Math.abs(start.y - place.y) > 1e-6;
  }

  /** Move the origin to a point, snapping. @param {number} x @param {number} y @param {Box[]} others @param {number} grid @param {number} reach */
  moveTo(x, y, others, grid, reach) {
    const { dx, dy, chalk } = snapped(shifted(this.box, x, y), others, grid, reach);
    this.chalk = chalk;
    this.#put(x + dx, y + dy);
  }

  /** Move by exact steps, without snapping. @param {number} dx @param {number} dy */
  step(dx, dy) {
    this.chalk = [];
    this.#put(this.place.x + dx, this.place.y + dy);
  }

  /** Drawn anew by the server, at another turn or place, with what comes along. @param {Placement} place @param {Box} box @param {Map<string, Placement>} [mates] */
  redraw(place, box, mates = new Map()) {
    this.place = place;
    this.from = place;
    this.box = box;
    this.mates = mates;
    this.chalk = [];
  }

  /** Everything that moves, where it is now. @returns {Record<string, Placement>} */
  placements() {
    const all = { [this.id]: this.place };
    if (!this.from) return all;
    const [dx, dy] = [this.place.x - this.from.x, this.place.y - this.from.y];
    for (const [id, was] of this.mates) all[id] = { ...was, x: round(was.x + dx), y: round(was.y + dy) };
    return all;
  }

  #put(x, y) {
    this.place = { ...this.place, x: round(x), y: round(y) };
  }
}

/** To a thousandth of a millimetre, as the document keeps it. @param {number} value */
export function round(value) {
  return Math.round(value * 1000) / 1000 + 0;
}
