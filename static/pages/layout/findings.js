/**
 * Findings that need the routes of the wires: asked for after the page is there and after each
 * change, first with wires that only give way, then for good.
 */

const SOON_MS = 60;
const SETTLED_MS = 700; // who makes one change after the other asks once how all is for good
const NAMED = "#finding-";
const AGAIN_MS = 300; // while a module is held

export class Findings {
  /** @param {HTMLElement} place the piece of the page @param {import("./desk.js").Desk} desk */
  constructor(place, desk) {
    this.place = place;
    this.desk = desk;
    this.timer = 0;
    /** The finding that a link to this page names, until it is there. */
    this.named = location.hash.startsWith(NAMED) ? decodeURIComponent(location.hash.slice(NAMED.length)) : "";
  }

  get #panel() {
    return /** @type {HTMLElement} */ (this.place.querySelector("[data-known]"));
  }

  /** Ask for what is not known yet. */
  show() {
    this.#showNamed();
    clearTimeout(this.timer);
    const { known } = this.#panel.dataset;
    if (known === "settled") return;
    this.timer = setTimeout(() => void this.#ask(known !== "quick"), known === "quick" ? SETTLED_MS : SOON_MS);
  }

  #showNamed() {
    const card = this.named && this.place.querySelector(`[data-finding="${CSS.escape(this.named)}"]`);
    if (!card) return;
    this.named = "";
    card.closest("details")?.setAttribute("open", "");
    card.scrollIntoView({ block: "nearest" });
    const button = /** @type {HTMLElement | null} */ (card.querySelector("[data-show]"));
    setTimeout(() => button?.click()); // when all of the page listens
  }

  /** @param {boolean} quick */
  async #ask(quick) {
    const { revision, view } = this.desk.board.desk.dataset;
    const url = `${this.#panel.dataset.findingsUrl}?view=${view}&quick=${quick}`;
    const answer = await fetch(url).then((got) => (got.ok ? got.json() : null), () => null);
    if (answer && String(answer.revision) === revision) this.#take(answer);
  }

  #take(answer) {
    if (String(answer.revision) !== this.desk.board.desk.dataset.revision) return;
    clearTimeout(this.timer);
    const within = this.place.contains(document.activeElement) ? document.activeElement : null;
    const isTyped = [...this.place.querySelectorAll("input")].some((input) => input.value || input === within);
    if (this.desk.held || isTyped) {
      this.timer = setTimeout(() => this.#take(answer), AGAIN_MS);
      return;
    }
    const card = within?.closest("[data-finding]");
    const [key, row] = [card?.dataset.finding, card ? controlsOf(card).indexOf(within) : -1];
    this.desk.page.judged(answer.pieces);
    if (key) controlsOf(this.place.querySelector(`[data-finding="${CSS.escape(key)}"]`) ?? this.place)[row]?.focus();
    this.show();
  }
}

/** @param {Element} card */
function controlsOf(card) {
  return [...card.querySelectorAll("button, summary")];
}
