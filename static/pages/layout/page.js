/** Everything of the page round the board: tray, chosen module, findings, messages, facts. */
import { unfold } from "../../lib/folded.js";
import { figure } from "../../lib/words.js";

const WORDS = { saved: "Saved", saving: "Saving\u2026", waiting: "Not saved yet", held: "Not saved yet" };

/** @template {Element} T @param {string} selector @returns {T} */
const one = (selector) => document.querySelector(selector);

/** What is said of every module as saved, by its id. @returns {Record<string, string>} */
export function verdicts() {
  return JSON.parse(one("[data-verdicts]").dataset.verdicts);
}

export class Page {
  /** @param {import("./board.js").Board} board */
  constructor(board) {
    this.board = board;
    this.status = one("[data-status]");
    this.box = one("[data-beside]");
    this.at = null;
    this.#stops(Number(board.desk.dataset.stops));
  }

  // words

  /** Say a line to who cannot see it, once it has settled. @param {string} words @param {number} ms */
  say(words, ms = 0) {
    clearTimeout(this.saying);
    this.saying = setTimeout(() => {
      this.status.textContent = words;
    }, ms);
  }

  /** A message above the board, with buttons. @param {string} words @param {[string, () => void][]} actions */
  tell(words, actions = []) {
    const place = one("[data-message]");
    one("[data-message-words]").textContent = words;
    one("[data-message-actions]").replaceChildren(...actions.map(([label, act]) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "button";
      button.textContent = label;
      button.addEventListener("click", () => {
        place.hidden = true;
        act();
      });
      return button;
    }));
    place.hidden = !words;
  }

  /** @param {keyof WORDS} standing */
  standing(standing) {
    one("[data-saved]").textContent = WORDS[standing];
    one("[data-saved]").dataset.saved = standing;
    this.linked(standing !== "waiting");
  }

  /** @param {boolean} linked */
  linked(linked) {
    let line = one(".link-line");
    if (linked) return line?.remove();
    if (line) return;
    line = document.createElement("p");
    line.className = "link-line";
    line.setAttribute("role", "alert");
    line.textContent = "Not connected. Your changes wait here.";
    one(".bar").after(line);
  }

  // the pointer and what is in the hand

  /** @param {{x: number, y: number} | null} at @param {{clientX: number, clientY: number}} [event] */
  pointer(at, event) {
    const facts = one("[data-pointer]");
    if (facts) facts.textContent = at ? `${at.x.toFixed(1)}, ${at.y.toFixed(1)}` : "\u2013";
    this.at = at && this.#isOnPlate(at) ? at : null;
    if (!this.at && !this.holding) this.box.hidden = true;
    if (event) this.#place(event);
  }

  #isOnPlate({ x, y }) {
    const { width, height } = this.board.desk.dataset;
    return x >= 0 && y >= 0 && x <= Number(width) && y <= Number(height);
  }

  /** The box keeps clear of the pointer. */
  #place({ clientX, clientY }) {
    const frame = this.board.desk.getBoundingClientRect();
    const left = clientX - frame.left;
    const top = clientY - frame.top;
    const right = left < frame.width / 2;
    this.box.style.left = right ? `${left + 22}px` : "auto";
    this.box.style.right = right ? "auto" : `${frame.width - left + 22}px`;
    this.box.style.top = `${Math.max(0, top - 20)}px`;
  }

  /** @param {[number, number]} free front and back, mm */
  free([front, back]) {
    if (this.holding || !this.at) return;
    const heights = [["caption", "Free height here"], ["", `${figure(front)} mm front`], ["", `${figure(back)} mm back`]];
    this.#boxed([...(this.onTerminal ?? []), ...(this.onWire ?? []), ...(this.onTerminal ? [] : heights)]);
  }

  /** The terminal under the pointer, whose mark may have no room; null: none. @param {{title: string, mark: string} | null} terminal */
  terminal(terminal) {
    this.onTerminal = terminal && [["caption", terminal.title], ["", `Terminal ${terminal.mark}`]];
  }

  /** What is told of the wire under the pointer, over the free height. @param {string[][]} lines */
  wire(lines) {
    this.onWire = lines;
    if (lines.length && this.at && !this.holding) this.#boxed(lines);
  }

  /** What is in the hand; null: nothing. */
  inHand(title, x = 0, y = 0, words = "", wrong = false) {
    this.holding = title !== null;
    this.box.classList.toggle("is-wrong", wrong);
    if (!this.holding) this.box.hidden = true;
    else this.#boxed([["caption", "In hand"], ["", `${figure(x)}, ${figure(y)}`], ["second", words]]);
  }

  /** Why nothing moves, beside the pointer that drags it. @param {string} title @param {{clientX: number, clientY: number}} event */
  refuse(title, event) {
    this.say(`${title} is locked`);
    this.#boxed([["caption", title], ["", "Locked"], ["second", "Unlock it to move it"]]);
    this.#place(event);
  }

  /** Nothing beside the pointer any more. */
  unbox() {
    if (!this.holding) this.box.hidden = true;
  }

  #boxed(lines) {
    this.box.hidden = false;
    this.box.replaceChildren(...lines.map(([kind, words]) => {
      const line = document.createElement("p");
      line.className = kind;
      line.textContent = words;
      return line;
    }));
  }

  // the chosen module

  /** @param {any} module */
  chosen(module) {
    const section = one("[data-chosen]");
    section.hidden = !module;
    if (!module) return;
    one("[data-chosen-title]").textContent = module.title;
    one("[data-chosen-state]").textContent = module.held ? "in hand" : module.locked ? "chosen, locked" : "chosen";
    one("[data-chosen-verdict]").textContent = module.verdict ?? "";
    const why = one("[data-chosen-why]");
    why.hidden = !module.why;
    why.textContent = `Kept free round it: ${module.why}.`;
    one("[data-do=lock]").textContent = module.locked ? "Unlock" : "Lock";
    one("[data-do=hold]").textContent = module.held ? "Put down" : "Pick up";
    for (const button of section.querySelectorAll("[data-do]:not([data-do=lock]), [data-nudge]")) button.disabled = module.locked;
    this.#fields(section, module);
  }

  #fields(section, module) {
    const values = { x: figurePlain(module.x), y: figurePlain(module.y), turn: figurePlain(module.turn), face: module.face };
    for (const [name, value] of Object.entries(values)) {
      const field = section.querySelector(`[name=${name}]`);
      if (document.activeElement !== field || field.tagName === "SELECT") field.value = value;
      field.disabled = module.locked;
    }
  }

  /** @param {string | null} id */
  markRow(id) {
    for (const row of document.querySelectorAll("[data-row]")) row.classList.toggle("is-chosen", row.dataset.row === id);
  }

  /** @param {string} id */
  verdictOf(id) {
    return verdicts()[id];
  }

  /** The name of a module of this board, also of one in the tray or on the other face. @param {string} id */
  titleOf(id) {
    return one(`[name=some][value="${id}"] + span`)?.textContent;
  }

  /** Pairs of modules that touch as saved. @returns {[string, string][]} */
  touchingPairs() {
    const words = one("[data-touching]")?.dataset.touching;
    return words ? words.split(";").map((pair) => /** @type {[string, string]} */ (pair.split(" "))) : [];
  }

  /** The person's own view of the page. @param {string} view */
  setView(view) {
    this.board.desk.dataset.view = view;
    for (const link of document.querySelectorAll("[data-view].button, .switch [data-view]")) {
      if (link.dataset.view === view) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    history.replaceState(null, "", `?view=${view}`);
  }

  // another revision

  /** Its pieces in place of those that are shown; what it leaves out stays. @param {any} answer */
  apply(answer) {
    const { dataset } = this.board.desk;
    dataset.revision = answer.revision;
    if (answer.view === dataset.view) this.board.replace(answer.pieces.board);
    this.judged(answer.pieces);
    for (const box of document.querySelectorAll("[name=scope][value=tray]")) box.disabled = !one("[data-tray]");
    const rows = Object.keys(verdicts()).length;
    one("[data-table]").hidden = !rows;
    one("[data-table] > summary").textContent = `All ${rows} as a table`;
  }

  /** Pieces beside the board in place of those that are shown. @param {Record<string, string>} pieces */
  judged(pieces) {
    const open = this.#openParts();
    for (const name of ["findings", "tray", "table", "facts"]) {
      const place = one(`[data-piece=${name}]`);
      if (!(name in pieces)) continue;
      if (name === "table" && place.contains(document.activeElement)) continue;
      const scrolled = () => [place, place.querySelector(".lay-tray")].filter((list) => list);
      const tops = scrolled().map((list) => list.scrollTop);
      place.innerHTML = pieces[name];
      scrolled().forEach((list, row) => (list.scrollTop = tops[row] ?? 0));
    }
    this.#reopen(open);
    unfold(document.body);
    this.#bar(pieces.bar);
  }

  /** Undo, redo and the stop mark of the bar. @param {string} html */
  #bar(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    one("#history")?.replaceWith(fresh.querySelector("#history"));
    const marks = document.querySelectorAll("[data-stop-mark]");
    const newMarks = fresh.querySelectorAll("[data-stop-mark]");
    marks.forEach((mark, row) => mark.replaceWith(newMarks[row]));
  }

  /** The stop marks of the bar, which was sent before the board was judged. @param {number} count */
  #stops(count) {
    for (const mark of document.querySelectorAll("[data-stop-mark]")) {
      mark.hidden = !count;
      mark.setAttribute("aria-label", `${count} to stop for`);
    }
  }

  #openParts() {
    return new Map([...document.querySelectorAll("[data-finding], [data-gravity]")].flatMap((card) => {
      const key = card.dataset.finding ?? card.dataset.gravity;
      const parts = card.dataset.gravity ? [card] : [...card.querySelectorAll("details")];
      return parts.map((part, row) => [`${key} ${row}`, part.open]);
    }));
  }

  #reopen(open) {
    for (const card of document.querySelectorAll("[data-finding], [data-gravity]")) {
      const key = card.dataset.finding ?? card.dataset.gravity;
      const parts = card.dataset.gravity ? [card] : [...card.querySelectorAll("details")];
      parts.forEach((part, row) => {
        if (open.has(`${key} ${row}`)) part.open = open.get(`${key} ${row}`);
      });
    }
  }
}

/** As a person types it. @param {number} value */
function figurePlain(value) {
  return String(Math.round(value * 1000) / 1000 + 0);
}
