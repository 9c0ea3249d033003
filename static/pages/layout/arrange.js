/** Arranging: asked for, watched, stopped; the offer is taken or left. */
import { MOST_MM } from "../../lib/limits.js";
import { typedNumber } from "../../lib/words.js";

const LOOK_MS = 350;

export class Arranging {
  /** @param {import("./desk.js").Desk} desk */
  constructor(desk) {
    this.desk = desk;
    this.section = document.querySelector("#arrange");
    this.form = this.section.querySelector("[data-arrange-form]");
    this.panel = this.section.querySelector("[data-arrange-panel]");
    this.fault = this.section.querySelector("[data-arrange-fault]");
    this.opener = document.querySelector("[data-arrange-open]");
    this.opener.addEventListener("click", () => this.#open(this.section.hidden));
    this.section.querySelector("[data-arrange-close]").addEventListener("click", () => this.#open(false));
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.#start();
    });
    this.form.addEventListener("change", () => this.#chooseSome());
    for (const button of this.form.querySelectorAll("[data-arrange-ask]")) {
      button.addEventListener("click", () => this.#send({ ask: button.dataset.arrangeAsk }));
    }
    this.panel.addEventListener("click", (event) => this.#pressed(event));
    this.look();
  }

  #open(open) {
    this.section.hidden = !open;
    this.opener.setAttribute("aria-expanded", String(open));
    if (open) this.section.querySelector("h2").scrollIntoView({ block: "nearest" });
    else this.opener.focus();
  }

  #wrong(words) {
    this.fault.textContent = words;
    this.fault.hidden = !words;
  }

  /** The list of modules is there while only chosen ones are to move; the one on the board is in it. */
  #chooseSome() {
    const list = this.form.querySelector("[data-arrange-some]");
    const some = new FormData(this.form).get("scope") === "some";
    if (some && list.hidden) {
      for (const box of list.querySelectorAll("input")) box.checked ||= box.value === this.desk.chosenId;
    }
    list.hidden = !some;
  }

  #start(character) {
    const values = new FormData(this.form);
    const near = values.get("near") ? typedNumber(String(values.get("at_most_mm"))) : null;
    const isWrong = near !== null && !(near > 0.01 && near <= MOST_MM);
    const field = this.form.querySelector("[name=at_most_mm]");
    field.setAttribute("aria-invalid", String(isWrong));
    if (isWrong) {
      this.#wrong(`Move at most: \u201c${field.value}\u201d is no length over 0.01, up to ${MOST_MM} mm.`);
      field.closest("details").open = true;
      field.focus();
      return;
    }
    this.#send({
      scope: values.get("scope"), effort: values.get("effort"), some: values.getAll("some"),
      character: character ?? values.get("character"), at_most_mm: near,
    });
  }

  async #send(asked) {
    const { desk } = this;
    desk.cancel();
    this.#wrong("");
    try {
      const { status, body } = await desk.server.post(desk.server.urls.arrange, {
        revision: desk.queue.revision, view: desk.board.view, ...asked,
      });
      if (status !== 202 && !body?.job) return this.#wrong(body?.words ?? "Arranging could not be started.");
      desk.page.say("Arranging started");
      this.look();
    } catch {
      this.#wrong("Not connected. Try again when the server is there.");
    }
  }

  /** How far it is, again and again while it runs. */
  async look() {
    clearTimeout(this.looking);
    let body = null;
    try {
      const answer = await fetch(`${this.desk.server.urls.arrange}?view=${this.desk.board.view}`);
      body = answer.ok ? await answer.json() : { state: "none" };
    } catch {
      this.looking = setTimeout(() => this.look(), 4 * LOOK_MS);
      return;
    }
    this.#show(body);
    if (body.state === "waiting" || body.state === "running") this.looking = setTimeout(() => this.look(), LOOK_MS);
  }

  #show({ state, html, progress }) {
    const busy = state !== "none";
    const isOffer = busy && state !== "waiting" && state !== "running";
    this.section.closest(".lay-sheet").classList.toggle("is-comparing", isOffer);
    const held = this.section.contains(document.activeElement); // who works by keys stays in its place
    this.form.hidden = busy;
    this.panel.hidden = !busy;
    if (!busy) {
      this.panel.replaceChildren();
      return;
    }
    if (this.section.hidden) this.#open(true);
    this.panel.innerHTML = html;
    if (held) this.panel.querySelector("button")?.focus({ preventScroll: true });
    if (state === "done") this.desk.page.say(this.panel.querySelector("[data-offer-take]") ? "An offer is there, to take or to leave" : "The answer is there");
    else this.desk.page.say(`Arranging, ${Math.round(progress * 10) * 10} per cent`, 400);
  }

  async #pressed(event) {
    const button = event.target.closest("button");
    if (!button) return;
    const { urls } = this.desk.server;
    if ("arrangeStop" in button.dataset) await this.#post(`${urls.stop}?view=${this.desk.board.view}`);
    else if ("offerLeave" in button.dataset) await this.#leave();
    else if ("offerCharacter" in button.dataset) this.#again(button.dataset.offerCharacter);
    else if ("offerTake" in button.dataset) this.#take();
    else if ("arrangeAsk" in button.dataset) this.#send({ ask: button.dataset.arrangeAsk });
  }

  async #post(url) {
    try {
      await this.desk.server.post(url, {});
    } catch {
      this.#wrong("Not connected.");
    }
    this.look();
  }

  /** Another offer in place of this one. @param {string} character */
  #again(character) {
    const choice = this.form.querySelector(`[name="character"][value="${character}"]`);
    if (choice) choice.checked = true;
    this.#start(character);
  }

  async #leave() {
    await this.#post(this.desk.server.urls.leave);
    this.#open(false);
    this.desk.page.say("The offer was left; the layout is as it was");
  }

  #take() {
    const { desk } = this;
    desk.queue.add({ url: desk.server.urls.take, body: { view: desk.board.view } });
    desk.page.say("The offer was taken");
    this.#show({ state: "none" });
    this.#open(false);
  }
}
