/**
 * Where the chosen module fits, painted under the modules, and what each spot costs. Asked for when
 * the module, its face or turn, or the revision changes: never while it is only moved.
 */
import { svg } from "../../lib/svg.js";

const SOON_MS = 80; // who steps from module to module asks only where they stop

export class Fits {
  /** @param {HTMLElement} place the controls @param {import("./desk.js").Desk} desk @param {string} url */
  constructor(place, desk, url) {
    this.place = place;
    this.desk = desk;
    this.url = url;
    this.on = /** @type {HTMLInputElement} */ (place.querySelector("[data-fits-on]"));
    this.costs = /** @type {HTMLInputElement} */ (place.querySelector("[data-fits-costs]"));
    this.words = /** @type {HTMLElement} */ (place.querySelector("[data-fits-words]"));
    this.asked = ""; // what the newest question was about
    this.drawn = null; // its answer
    this.said = ""; // what was read out last
    this.groups = [];
    for (const box of [this.on, this.costs]) box.addEventListener("change", () => desk.showChosen());
    place.addEventListener("click", (event) => {
      const button = /** @type {Element} */ (event.target).closest("[data-spot]");
      if (button instanceof HTMLElement) this.#take(button.dataset);
    });
  }

  /**
   * Follow the chosen module.
   * @param {string | null} id @param {{face: string, turn: number} | null} pose
   * @param {number[] | null} middle of its outline on the plate @param {number} revision
   */
  show(id, pose, middle, revision) {
    this.costs.disabled = !this.on.checked;
    const wanted = id && pose && this.on.checked ? `${id} ${pose.face} ${pose.turn} ${this.costs.checked} ${revision}` : "";
    if (wanted !== this.asked) {
      this.asked = wanted;
      clearTimeout(this.waiting);
      this.question?.abort();
      if (!wanted) return this.#answered(null);
      this.place.setAttribute("aria-busy", "true");
      this.waiting = setTimeout(() => this.#ask(id, pose), SOON_MS);
    } else if (this.drawn && !this.groups[0]?.isConnected) this.#draw();
    if (this.drawn) this.#cross(middle);
  }

  /** The ground first, which is there at once; then what spots cost. */
  async #ask(id, pose) {
    const { signal } = this.question = new AbortController();
    try {
      for (const costs of this.costs.checked ? [false, true] : [false]) {
        const query = new URLSearchParams({ part: id, face: pose.face, turn: String(pose.turn), costs: String(costs) });
        const answer = await fetch(`${this.url}?${query}`, { signal });
        if (!answer.ok) return this.#failed("It could not be worked out.");
        this.#answered(await answer.json());
        this.desk.showChosen();
      }
      this.place.removeAttribute("aria-busy");
    } catch {
      if (!signal.aborted) this.#failed("Not connected. Choose the module again when the server is there.");
    }
  }

  #failed(words) {
    this.place.removeAttribute("aria-busy");
    this.#answered(null);
    this.asked = "";
    this.words.textContent = words;
  }

  #answered(answer) {
    if (!answer) this.place.removeAttribute("aria-busy");
    this.drawn = answer;
    this.words.innerHTML = answer?.html ?? "";
    this.#say(answer);
    this.#draw();
  }

  /** Read out once for each question, not again for each revision. */
  #say(answer) {
    const about = answer ? this.asked.replace(/ \d+$/, "") : "";
    if (about && about !== this.said) this.desk.page.say(this.words.querySelector("[data-fits-said]").textContent.trim());
    this.said = about || this.said;
  }

  /** The ground under the modules; its edge, the lines and their figures over them. */
  #draw() {
    for (const group of this.groups) group.remove();
    this.groups = [];
    const { board } = this.desk;
    if (!this.drawn) return;
    const mirrored = board.mirrored ? `translate(${board.width} 0) scale(-1 1)` : "";
    const { ground, lines } = this.drawn;
    const under = svg("g", { class: "fits-ground", transform: mirrored });
    under.append(svg("path", { d: ground, "fill-rule": "evenodd", fill: "url(#hatch-fits-board)" }));
    const over = svg("g", { class: "fits-lines" });
    const drawn = svg("g", { transform: mirrored });
    drawn.append(svg("path", { d: ground, class: "fits-edge fill-none" }));
    drawn.append(...lines.map(({ d }) => svg("path", { d, class: "fits-line fill-none" })));
    this.cross = svg("g", { class: "fits-middle" });
    over.append(drawn, ...lines.filter(({ at }) => at).map(({ at, words }) => this.#figure(at, words)), this.cross);
    board.sheet.querySelector(".modules").before(under);
    board.overlay.group.prepend(over);
    this.groups = [under, over];
  }

  #figure([x, y], words) {
    const at = svg("g", { transform: `translate(${this.desk.board.plateX(x)} ${y})` });
    const pixels = svg("g", { class: "px" });
    const text = svg("text", { class: "lettering-dimension plaque", "text-anchor": "middle", dy: ".35em", "aria-hidden": "true" });
    text.textContent = words;
    pixels.append(text);
    at.append(pixels);
    return at;
  }

  /** A small cross at the middle of the module's outline. @param {number[] | null} middle */
  #cross(middle) {
    if (!middle) return this.cross.replaceChildren();
    if (!this.cross.firstChild) {
      const pixels = svg("g", { class: "px" });
      pixels.append(svg("path", { d: "M-7 0H7M0 -7V7", class: "fits-cross" }));
      this.cross.append(pixels);
    }
    this.cross.setAttribute("transform", `translate(${this.desk.board.plateX(middle[0])} ${middle[1]})`);
  }

  /** One of the best spots, as one change. @param {DOMStringMap} data */
  #take(data) {
    const { desk } = this;
    const id = desk.chosenId;
    if (!id) return;
    const to = { x: Number(data.x), y: Number(data.y), turn: Number(data.turn), face: /** @type {string} */ (data.face) };
    const title = desk.title(id);
    desk.settle();
    desk.cancel();
    if (desk.board.module(id)) desk.board.move(id, to);
    if (desk.board.view !== "through" && desk.board.view !== to.face) desk.page.setView(to.face);
    desk.chosenId = id;
    desk.focusAgain = true;
    desk.place({ [id]: to });
    desk.page.say(`${title} goes to its best spot`);
  }
}
