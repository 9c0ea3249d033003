/** The small section from above: cut through the chosen module, of the newest revision. */
import { scaleLettering } from "../../lib/drawing_scale.js";

export class Above {
  /** @param {HTMLElement} place @param {string} url */
  constructor(place, url) {
    this.place = place;
    this.url = url;
    this.shown = "";
  }

  /** @param {string | null} id of the chosen module @param {number} revision */
  async show(id, revision) {
    const wanted = `${id ?? ""} ${revision}`;
    if (wanted === this.shown) return;
    this.shown = wanted;
    try {
      const answer = await fetch(`${this.url}?part=${id ?? ""}`);
      if (!answer.ok || wanted !== this.shown) return;
      this.place.innerHTML = await answer.text();
      scaleLettering(this.place.querySelector("svg"));
    } catch {
      this.shown = ""; // not connected: asked again at the next choice
    }
  }
}
