/** Modules that move together: who they are, and the controls of the chosen one. */
import { verdicts } from "./page.js";

export class Groups {
  /** @param {HTMLElement} place the controls @param {import("./desk.js").Desk} desk @param {string} url */
  constructor(place, desk, url) {
    this.place = place;
    this.desk = desk;
    this.words = /** @type {HTMLElement} */ (place.querySelector("[data-group-words]"));
    this.others = /** @type {HTMLSelectElement} */ (place.querySelector("select"));
    this.leave = /** @type {HTMLButtonElement} */ (place.querySelector("[data-group-leave]"));
    this.others.addEventListener("change", () => this.#send(url, this.others.value));
    this.leave.addEventListener("click", () => this.#send(url, null));
  }

  /** The others of a module's groups. @param {string} id @returns {string[]} */
  static mates(id) {
    const known = /** @type {HTMLElement | null} */ (document.querySelector("[data-groups]"));
    const groups = (known?.dataset.groups ?? "").split(";").map((group) => group.split(" "));
    return [...new Set(groups.filter((group) => group.includes(id)).flat())].filter((mate) => mate && mate !== id);
  }

  /** @param {string | null} id of the chosen module */
  show(id) {
    const { board } = this.desk;
    const mates = id ? Groups.mates(id) : [];
    for (const module of board.svg.querySelectorAll("g.module")) {
      module.classList.toggle("is-mate", mates.includes(module.getAttribute("data-key") ?? ""));
    }
    const free = Object.keys(verdicts()).filter((other) => other !== id && !mates.includes(other));
    this.words.hidden = this.leave.hidden = !mates.length;
    this.words.textContent = `Moves together with ${mates.map((mate) => this.desk.title(mate)).join(", ")}.`;
    const options = free.map((other) => new Option(this.desk.title(other), other));
    this.others.replaceChildren(new Option(mates.length ? "one more\u2026" : "choose a module\u2026", ""), ...options);
    this.others.disabled = !free.length;
  }

  /** @param {string} url @param {string | null} other */
  #send(url, other) {
    const part = this.desk.chosenId;
    if (!part || other === "") return;
    this.desk.settle();
    if (this.desk.held) this.desk.putDown(false);
    this.desk.queue.add({ url, body: { part, other } });
    this.desk.page.say(other ? `${this.desk.title(part)} moves together with ${this.desk.title(other)}`
      : `${this.desk.title(part)} moves on its own`);
  }
}
