/**
 * The wires on the board: asked for after the page is there and after each change, traced where one
 * points or stops in the list, and led over points of one's own.
 */
import { setFlags } from "../../lib/flags.js";
import { svg } from "../../lib/svg.js";
import { bendsOf, middleOf, nearest, rankOf } from "../../lib/wire_ways.js";
import { figure, typedNumber } from "../../lib/words.js";
import { pointRow } from "./wire_points.js";

const SOON_MS = 40;
const SETTLED_MS = 700; // who makes one change after the other asks once how all lies for good
const STEPS_MS = 500; // single key steps within this time are one change
const POINT_PX = 8;
const FINGER_PX = 14;
const MOST_MM = 5000;
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** Whether a number or a name is this wire's, or that of a run that it lies in. @param {any} wire @param {Element} flag */
function isOf(wire, flag) {
  return flag.getAttribute("data-wire") === wire.id || wire.runs.includes(flag.getAttribute("data-run"));
}

export class Runs {
  /** @param {HTMLElement} place the section of the page @param {import("./desk.js").Desk} desk */
  constructor(place, desk) {
    this.place = place;
    this.desk = desk;
    this.list = /** @type {HTMLElement} */ (place.querySelector("[data-runs-list]"));
    this.panel = /** @type {HTMLElement} */ (place.querySelector("[data-wire-panel]"));
    this.fault = /** @type {HTMLElement} */ (place.querySelector("[data-wire-fault]"));
    this.wires = new Map();
    this.asked = "";
    this.answer = null;
    this.chosen = null; // id of the wire that was chosen
    this.pointed = null; // id of the wire under the pointer, or that has the focus in the list
    this.here = []; // ids of all wires under the pointer
    this.led_ = null; // points of the chosen wire while they are moved: {points, index}
    this.isLed = false; // whether the change that is being saved leads the chosen wire
    this.focusOn = null; // number of the point that keeps the focus through new drawings
    this.groups = [];
    this.#listen();
  }

  get board() {
    return this.desk.board;
  }

  /** The faces on which wires can be pointed at in this view. */
  get faces() {
    return this.board.view === "through" ? ["front", "back"] : [this.board.view];
  }

  get isHidden() {
    return this.board.layers.get("runs") === false;
  }

  #listen() {
    const { list, panel } = this;
    const wireOf = (event) => event.target.closest?.("[data-wire]")?.dataset.wire ?? null;
    list.addEventListener("pointerover", (event) => this.#pointAt(wireOf(event)));
    list.addEventListener("pointerleave", () => this.#pointAt(null));
    list.addEventListener("focusin", (event) => this.#pointAt(wireOf(event)));
    list.addEventListener("focusout", () => this.#pointAt(null));
    list.addEventListener("click", (event) => {
      const id = wireOf(event);
      if (id) this.choose(id === this.chosen ? null : id);
    });
    list.addEventListener("keydown", (event) => this.#roved(event));
    panel.addEventListener("click", (event) => {
      const button = /** @type {Element} */ (event.target).closest("button");
      if (button?.dataset.wireDo) this.#act(button.dataset.wireDo);
      if (button?.dataset.less) this.#less(Number(button.dataset.less));
    });
    panel.addEventListener("change", (event) => this.#typed(/** @type {HTMLInputElement} */ (event.target)));
    this.board.place.addEventListener("keydown", (event) => this.#key(event));
    document.addEventListener("focusin", (event) => {
      const point = /** @type {Element} */ (event.target).closest("g.via")?.getAttribute("data-point");
      this.focusOn = point ? Number(point) : null;
    });
    document.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || this.desk.held || !this.chosen) return;
      if (this.led_) this.leave();
      else this.choose(null);
    });
  }

  // what the server says

  /** Follow the revision and the view that the board shows. */
  show() {
    const wanted = `${this.desk.queue.revision} ${this.board.view}`;
    if (wanted === this.asked) {
      if (this.answer && !this.groups[0]?.isConnected) this.#draw();
      return;
    }
    this.asked = wanted;
    if (this.isLed) this.#hold();
    this.question?.abort();
    clearTimeout(this.waiting);
    this.list.setAttribute("aria-busy", "true");
    this.waiting = setTimeout(() => this.#ask(wanted), SOON_MS);
  }

  /** At once how wires give way, then how they lie for good. @param {string} wanted */
  async #ask(wanted) {
    const { signal } = this.question = new AbortController();
    try {
      for (const quick of [true, false]) {
        if (!quick) await new Promise((resolve) => setTimeout(resolve, SETTLED_MS));
        if (wanted !== this.asked) return;
        const answer = await fetch(`${this.place.dataset.runs}?view=${this.board.view}&quick=${quick}`, { signal });
        if (!answer.ok) throw new TypeError(answer.statusText);
        const body = await answer.json();
        if (wanted !== this.asked) return;
        this.#arrived(body);
        if (body.settled) return;
      }
    } catch {
      if (signal.aborted) return;
      this.asked = "";
      this.list.removeAttribute("aria-busy");
      this.list.textContent = "The wires could not be laid. They are asked for again after the next change.";
    }
  }

  #arrived(answer) {
    const before = this.answer;
    this.answer = answer;
    this.wires = new Map(answer.wires.map((wire) => [wire.id, wire]));
    if (answer.settled) this.list.removeAttribute("aria-busy");
    if (answer.html !== before?.html) this.#refill(answer.html);
    const count = this.wires.size;
    this.place.querySelector("[data-runs-count]").textContent = count ? `${count} laid` : "";
    if (!this.wires.has(this.chosen)) this.chosen = null;
    this.#draw();
  }

  /** The list anew; the focus stays on its wire, and in sight what was. @param {string} html */
  #refill(html) {
    const focused = /** @type {HTMLElement | null} */ (this.list.contains(document.activeElement) ? document.activeElement : null);
    const id = focused?.dataset.wire;
    const scrolled = this.list.querySelector("[data-wires-list]")?.scrollTop ?? 0;
    this.list.innerHTML = html;
    this.list.querySelector("[data-wires-list]")?.scrollTo(0, scrolled);
    if (id) this.#button(id)?.focus({ preventScroll: true });
  }

  /** @param {string | null} id @returns {HTMLElement | null} */
  #button(id) {
    return this.list.querySelector(`[data-wire="${id}"]`);
  }

  // drawing

  #draw() {
    for (const group of this.groups) group.remove();
    const holder = document.createElement("div");
    holder.innerHTML = this.answer.svg;
    const [under, over, flags] = this.groups = [...holder.querySelectorAll(".sheet > g")];
    const { sheet, overlay } = this.board;
    sheet.querySelector(".modules").before(under);
    sheet.querySelector(".modules").after(over);
    [this.tracing, this.grips] = [svg("g", { class: "trace" }), svg("g", { class: "trace" })];
    overlay.group.before(this.tracing, flags, this.grips); // numbers on the traced wire, its points over both
    this.groups.push(this.tracing, this.grips);
    this.board.scaled();
    this.#mark();
  }

  /** The points of the wire that was led, on a board drawn anew, until it lies: the focus stays. */
  #hold() {
    this.isLed = false;
    if (this.answer?.view !== this.board.view || this.groups[0]?.isConnected) return;
    this.groups = [this.grips = svg("g", { class: "trace" })];
    this.board.overlay.group.before(this.grips);
    this.#grip(this.wires.get(this.chosen));
    this.board.scaled();
  }

  /** Let the pointed or chosen wire stand out. */
  #mark() {
    const id = this.isHidden ? null : this.pointed ?? this.chosen;
    const wire = id && this.wires.get(id);
    this.board.svg.classList.toggle("is-tracing", Boolean(wire));
    for (const module of this.board.modules()) module.element.classList.toggle("is-end", Boolean(wire?.parts.includes(module.id)));
    for (const flag of this.board.svg.querySelectorAll("g.flag")) flag.classList.toggle("is-traced", Boolean(wire) && isOf(wire, flag));
    setFlags(this.board.svg, this.board.mmPerPixel);
    for (const button of this.list.querySelectorAll("[data-wire]")) {
      const isIt = /** @type {HTMLElement} */ (button).dataset.wire === this.chosen;
      button.setAttribute("aria-pressed", String(isIt));
      button.classList.toggle("is-traced", /** @type {HTMLElement} */ (button).dataset.wire === id);
    }
    this.#trace(wire);
    this.#showPanel();
  }

  /** The focus stays on its point when all is drawn anew, unless it went elsewhere. */
  #trace(wire) {
    if (!this.tracing) return;
    this.tracing.replaceChildren(...(wire ? this.#traced(wire) : []));
    this.room?.remove(); // what a finger takes hold of, below the modules
    this.room = wire && wire.id === this.chosen ? svg("path", { d: wire.near, class: "trace-room" }) : null;
    if (this.room) this.groups[0].append(this.room);
    this.#grip(wire);
  }

  #grip(wire) {
    const focusOn = this.focusOn;
    this.grips.replaceChildren(...(wire && wire.id === this.chosen ? this.#handles(wire) : []));
    if (focusOn === null || !this.chosen) return;
    this.focusOn = focusOn;
    const isLoose = [document.body, null].includes(document.activeElement) || document.activeElement.matches("main");
    if (isLoose) this.grips.querySelector(`[data-point="${focusOn}"]`)?.focus({ preventScroll: true });
  }

  #traced(wire) {
    this.tracing.style.setProperty("--w", wire.outer);
    const ends = [wire.path[0], wire.path.at(-1)].map(([x, y, face]) =>
      svg("circle", { cx: this.board.plateX(x), cy: y, class: this.faces.includes(face) ? "trace-end" : "trace-end is-far" }));
    const [far, halo, way] = [["far", wire.far], ["halo", wire.near], ["way", wire.near]]
      .map(([kind, d]) => svg("path", { d, class: `trace-${kind}` }));
    return [far, halo, way, ...ends];
  }

  /** In pixels round a point of the plate. */
  #placed(x, y, ...inside) {
    return svg("g", { transform: `translate(${this.board.plateX(x)} ${y})` }, svg("g", { class: "px" }, ...inside));
  }

  /** The points that the chosen wire is led over, and the line between them while one is moved. */
  #handles(wire) {
    const points = this.led_?.points ?? wire.via;
    const handles = points.map(([x, y, face], n) => {
      if (!this.faces.includes(face)) return null;
      const handle = this.#placed(x, y, svg("circle", { r: 15, class: "via-room" }), svg("rect", { x: -6, y: -6, width: 12, height: 12 }));
      for (const [name, value] of Object.entries({
        class: "via", tabindex: 0, role: "button", "data-point": n, "aria-roledescription": "movable point",
        "aria-label": `Point ${n + 1} of wire ${wire.number}, x ${figure(x)} mm, y ${figure(y)} mm`,
      })) handle.setAttribute(name, String(value));
      return handle;
    });
    const line = this.led_ && [wire.path[0], ...points, wire.path.at(-1)].map(([x, y]) => `${this.board.plateX(x)} ${y}`).join("L");
    return [...(line ? [svg("path", { d: `M${line}`, class: "trace-lead" })] : []), ...handles.filter(Boolean)];
  }

  // pointing and choosing

  /** The wires under a place, the nearest first. @param {{x: number, y: number}} at @param {number} px */
  #under(at, px = POINT_PX) {
    if (this.isHidden || !this.answer || this.answer.view !== this.board.view) return [];
    const pixel = this.board.mmPerPixel;
    return [...this.wires.values()].map((wire) => ({ wire, near: nearest(wire.path, at, this.faces) }))
      .filter(({ wire, near }) => near && near.away <= Math.max(wire.outer / 2, px * pixel))
      .sort((one, other) => one.near.away - other.near.away || one.wire.number - other.wire.number);
  }

  /** The pointer moved over the board. @param {{x: number, y: number} | null} at @param {Element} [target] */
  point(at, target) {
    const flag = target?.closest("g.flag");
    const found = !at || target.closest("g.module, g.via") ? [] : this.#under(at).map(({ wire }) => wire.id);
    this.here = flag ? [...this.wires.values()].filter((wire) => isOf(wire, flag)).map((wire) => wire.id) : found;
    this.#pointAt(this.here.includes(this.chosen) ? this.chosen : this.here[0] ?? null);
    const more = this.here.length > 1 ? [["second", `and ${this.here.length - 1} more ${flag ? `in run ${flag.getAttribute("data-run")}` : "here"}: press to go through them`]] : [];
    const wire = this.wires.get(this.pointed);
    const { ends, size } = wire ? this.#said(wire) : {};
    this.desk.page.wire(wire ? [["caption", `Wire ${wire.number}`], ["", ends], ["second", size], ...more] : []);
  }

  /** A wire in the words of the list. */
  #said(wire) {
    const button = this.#button(wire.id);
    const [ends, size, way] = ["ends", "size", "way"].map((name) => button?.querySelector(`.lay-wire-${name}`)?.textContent ?? "");
    return { ends, size, way };
  }

  /** @param {string | null} id */
  #pointAt(id) {
    if (id === this.pointed || this.led_) return;
    this.pointed = id;
    this.#mark();
  }

  /** A press on the ground: the next of the wires there is chosen. @returns {boolean} whether there is one */
  pressed(at) {
    const here = this.here.length ? this.here : this.#under(at, FINGER_PX).map(({ wire }) => wire.id);
    if (!here.length) {
      this.choose(null);
      return false;
    }
    this.choose(here[(here.indexOf(this.chosen) + 1) % here.length]);
    return true;
  }

  /** @param {string | null} id */
  choose(id) {
    if (id === this.chosen) return;
    this.#settle();
    if (id && this.desk.chosenId) this.desk.choose(null);
    this.chosen = id;
    this.pointed = id && this.pointed ? id : this.pointed;
    this.#mark();
    if (!id) return;
    this.#rove(id);
    this.#bringUp(this.#button(id));
    const wire = this.wires.get(id);
    const { ends, size, way } = this.#said(wire);
    this.desk.page.say(`Wire ${wire.number}, ${ends}, ${size}, ${way}`);
  }

  /** Into what the list shows; the page stays where it is. @param {HTMLElement | null} button */
  #bringUp(button) {
    const shown = button?.closest("[data-wires-list]");
    if (!shown) return;
    const [list, row] = [shown, button].map((one) => one.getBoundingClientRect());
    if (row.top < list.top) shown.scrollTop -= list.top - row.top;
    if (row.bottom > list.bottom) shown.scrollTop += row.bottom - list.bottom;
  }

  /** @param {string} id */
  #rove(id) {
    for (const button of this.list.querySelectorAll("[data-wire]")) {
      button.setAttribute("tabindex", /** @type {HTMLElement} */ (button).dataset.wire === id ? "0" : "-1");
    }
  }

  /** Arrows go through the list. @param {KeyboardEvent} event */
  #roved(event) {
    const buttons = /** @type {HTMLElement[]} */ ([...this.list.querySelectorAll("[data-wire]")]);
    const now = buttons.indexOf(/** @type {any} */ (document.activeElement));
    const to = { ArrowDown: now + 1, ArrowUp: now - 1, Home: 0, End: buttons.length - 1 }[event.key];
    if (to === undefined || now < 0) return;
    event.preventDefault();
    const next = buttons[Math.max(0, Math.min(buttons.length - 1, to))];
    this.#rove(next.dataset.wire);
    next.focus();
  }

  // leading a wire over points

  #showPanel() {
    const wire = this.wires.get(this.chosen);
    this.panel.hidden = !wire;
    if (!wire) return;
    const { ends, size, way } = this.#said(wire);
    this.panel.querySelector("[data-wire-words]").textContent = `Wire ${wire.number}: ${ends}`;
    this.panel.querySelector("[data-wire-way]").textContent = `${size}, ${way}.`;
    this.panel.querySelector("[data-wire-do=pin]").textContent = wire.pinned ? "Unpin it" : "Pin it";
    /** @type {HTMLButtonElement} */ (this.panel.querySelector("[data-wire-do=free]")).disabled = !wire.via.length;
    const points = this.led_?.points ?? wire.via;
    const rows = this.panel.querySelector("[data-wire-points]");
    if (rows.contains(document.activeElement) && rows.children.length === points.length) return;
    rows.replaceChildren(...points.map(pointRow));
  }

  /** What a press takes hold of: a point of the chosen wire, or the wire itself. @param {PointerEvent} event */
  grip(event) {
    const wire = this.wires.get(this.chosen);
    if (!wire || this.desk.held) return null;
    this.#settle();
    const handle = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("g.via"));
    if (handle) {
      handle.focus({ preventScroll: true });
      return { index: Number(handle.dataset.point), isNew: false };
    }
    const other = /** @type {Element} */ (event.target).closest("g.module, g.flag");
    if (other && !isOf(wire, other)) return null;
    const near = nearest(wire.path, this.board.toPlate(event), this.faces);
    const px = event.pointerType === "mouse" ? POINT_PX : FINGER_PX;
    if (!near || near.away > Math.max(wire.outer / 2, px * this.board.mmPerPixel)) return null;
    return { index: rankOf(wire.path, wire.via, near.along), isNew: true, face: near.face };
  }

  /** @param {{index: number, isNew: boolean, face?: string, isLeft?: boolean}} grip @param {{x: number, y: number}} at */
  leadTo(grip, at) {
    const wire = this.wires.get(this.chosen);
    if (!wire || grip.isLeft) return;
    if (!this.led_) {
      const points = wire.via.map((point) => [...point]);
      if (grip.isNew) points.splice(grip.index, 0, [at.x, at.y, grip.face]);
      this.led_ = { points, index: grip.index };
      this.grip_ = grip;
      this.desk.page.inHand(`Point of wire ${wire.number}`, at.x, at.y);
    }
    this.#put(at.x, at.y, this.desk.grid);
  }

  /** The point that is moved comes to a place; within what the document takes. */
  #put(x, y, grid = 0) {
    const point = this.led_.points[this.led_.index];
    const [wx, wy] = [x, y].map((value) => Math.max(-MOST_MM, Math.min(MOST_MM, grid ? Math.round(value / grid) * grid : value)));
    [point[0], point[1]] = [Math.round(wx * 1000) / 1000, Math.round(wy * 1000) / 1000];
    if (this.desk.page.holding) this.desk.page.inHand("Point", point[0], point[1]);
    this.#mark();
    this.desk.page.say(`Point ${this.led_.index + 1}: x ${figure(point[0])}, y ${figure(point[1])}`, STEPS_MS / 2);
  }

  /** The point was put down. */
  led() {
    if (!this.led_) return;
    const { points, index } = this.led_;
    this.desk.page.inHand(null);
    this.focusOn = index;
    this.#send(points);
  }

  /** Nothing is changed. */
  leave() {
    clearTimeout(this.settling);
    if (!this.led_) return;
    if (this.grip_) this.grip_.isLeft = true; // the pointer may still be down
    this.led_ = null;
    this.desk.page.inHand(null);
    this.#mark();
  }

  #settle() {
    clearTimeout(this.settling);
    if (this.led_) this.led();
  }

  /** Keys at a point of the chosen wire. @param {KeyboardEvent} event */
  #key(event) {
    const handle = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("g.via"));
    if (!handle || event.ctrlKey || event.metaKey) return;
    const index = Number(handle.dataset.point);
    const way = WAYS[event.key];
    if (way) this.#step(index, way, event.altKey ? 0.1 : event.shiftKey ? 10 : 1);
    else if (event.key === "Delete" || event.key === "Backspace") this.#less(index);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  #step(index, [dx, dy], size) {
    const wire = this.wires.get(this.chosen);
    if (this.led_ && this.led_.index !== index) this.#settle();
    this.led_ ??= { points: wire.via.map((point) => [...point]), index };
    const [x, y] = this.led_.points[index];
    this.#put(x + dx * size * (this.board.mirrored ? -1 : 1), y + dy * size);
    clearTimeout(this.settling);
    this.settling = setTimeout(() => this.#settle(), STEPS_MS);
  }

  /** @param {number} index */
  #less(index) {
    const points = (this.led_?.points ?? this.wires.get(this.chosen).via).filter((_, n) => n !== index);
    this.focusOn = points.length ? Math.min(index, points.length - 1) : null;
    if (!points.length) this.#button(this.chosen)?.focus({ preventScroll: true });
    this.#send(points);
  }

  /** @param {string} what */
  #act(what) {
    const wire = this.wires.get(this.chosen);
    if (!wire) return;
    this.#settle();
    if (what === "show") return this.board.place.scrollIntoView({ block: "center" });
    if (what === "free") return this.#send([], false);
    if (what === "pin") return this.#send(wire.pinned ? wire.via : bendsOf(wire.path), !wire.pinned);
    const at = middleOf(wire.path, this.faces);
    if (!at) return this.desk.page.say("This wire does not run on the face that is shown");
    const index = rankOf(wire.path, wire.via, at.along);
    const points = [...wire.via];
    points.splice(index, 0, [Math.round(at.x * 1000) / 1000, Math.round(at.y * 1000) / 1000, at.face]);
    this.#send(points);
    this.grips.querySelector(`[data-point="${index}"]`)?.focus({ preventScroll: true }); // where arrows move it
  }

  /** A figure of a point was typed. @param {HTMLInputElement} field */
  #typed(field) {
    const { point, axis } = field.dataset;
    const value = typedNumber(field.value);
    const isWrong = !(Math.abs(value) <= MOST_MM);
    field.setAttribute("aria-invalid", String(isWrong));
    this.fault.hidden = !isWrong;
    this.fault.textContent = isWrong ? `${field.getAttribute("aria-label")}: a number from \u2212${MOST_MM} to ${MOST_MM}` : "";
    if (isWrong) return;
    const points = this.wires.get(this.chosen).via.map((one) => [...one]);
    points[Number(point)][axis === "x" ? 0 : 1] = value;
    this.#send(points);
  }

  /** One change of the document. @param {any[]} via */
  #send(via, pinned = this.wires.get(this.chosen).pinned) {
    clearTimeout(this.settling);
    const wire = this.wires.get(this.chosen);
    this.led_ = null;
    this.isLed = true;
    wire.via = via;
    this.desk.queue.add({ url: this.place.dataset.wireUrl, body: { wire: wire.id, via, pinned } });
    this.#mark();
  }
}
