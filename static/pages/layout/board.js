/** The drawn board: finds modules in it, moves them, and draws what is held over it. */
import { placeOf } from "../../lib/drawn_ground.js";
import { pixelSize, scaleLettering } from "../../lib/drawing_scale.js";
import { PlateWindow } from "../../parts/plate_window.js";
import { Overlay } from "./overlay.js";

const TERMINAL_MM = 2; // from the middle of a terminal, so near the pointer is on it
const TERMINAL_PX = 6;

export class Board {
  /** @param {HTMLElement} desk @param {HTMLElement} place */
  constructor(desk, place) {
    this.desk = desk;
    this.place = place;
    this.layers = new Map();
    this.#taken();
    new ResizeObserver(() => this.scaled()).observe(place);
  }

  get view() {
    return this.desk.dataset.view;
  }

  get width() {
    return Number(this.desk.dataset.width);
  }

  get mirrored() {
    return this.view === "back";
  }

  /** Another drawing in place of this one. @param {string} html */
  replace(html) {
    this.place.innerHTML = html;
    this.#taken();
    for (const [layer, shown] of this.layers) this.showLayer(layer, shown);
  }

  #taken() {
    this.svg = this.place.querySelector("svg.board");
    this.sheet = this.svg.querySelector("g.sheet");
    this.overlay = new Overlay(this);
    const [x, y, width, height] = this.svg.getAttribute("viewBox").split(" ").map(Number);
    const whole = { x, y, width, height };
    if (this.window) this.window.resize(whole);
    else this.window = new PlateWindow(whole);
    this.show();
  }

  /** Show the window's part of the drawing. */
  show() {
    this.svg.setAttribute("viewBox", this.window.viewBox);
    this.svg.classList.toggle("is-zoomed", !this.window.isWhole);
    this.scaled();
  }

  /** Bring lettering to its size and names to their room. */
  scaled() {
    const pixel = scaleLettering(this.svg);
    if (Number.isNaN(pixel)) return;
    this.pixel = pixel;
    this.overlay.again();
  }

  /** @param {string} layer @param {boolean} shown */
  showLayer(layer, shown) {
    this.layers.set(layer, shown);
    this.svg.classList.toggle(`hide-${layer}`, !shown);
  }

  /** The plate point under the pointer. @param {{clientX: number, clientY: number}} pointer */
  toPlate({ clientX, clientY }) {
    const point = new DOMPoint(clientX, clientY).matrixTransform(this.sheet.getScreenCTM().inverse());
    return { x: this.plateX(point.x), y: point.y };
  }

  /** The drawing's own point under the pointer, y down. @param {{clientX: number, clientY: number}} pointer */
  toFrame({ clientX, clientY }) {
    return new DOMPoint(clientX, clientY).matrixTransform(this.svg.getScreenCTM().inverse());
  }

  /** Plate x of a drawn x and the other way round. @param {number} x */
  plateX(x) {
    return this.mirrored ? this.width - x : x;
  }

  /** Every module that can be taken hold of in this view. */
  modules() {
    return [...this.svg.querySelectorAll("g.module")].map((element) => this.moduleOf(element));
  }

  /** @param {string} id */
  module(id) {
    const element = this.svg.querySelector(`g.module[data-key="${id}"]`);
    return element ? this.moduleOf(element) : null;
  }

  /** @param {Element} element */
  moduleOf(element) {
    const { key, title, x, y, turn, face, locked, box, why = "" } = element.dataset;
    return {
      id: key, title, element, why, locked: locked === "yes", box: this.plateBox(box),
      place: { face, x: Number(x), y: Number(y), turn: Number(turn) },
    };
  }

  /** The terminal of a module nearest to a plate point, if it is close. @param {{x: number, y: number}} at @param {Element} target */
  terminalAt(at, target) {
    const module = target.closest?.("g.module");
    const near = Math.max(TERMINAL_MM, TERMINAL_PX * this.mmPerPixel);
    const away = (/** @type {Element} */ mark) => {
      const [place, own] = [placeOf(module, 1), placeOf(mark, 1)]; // y down
      return Math.hypot(place.x + own.x - this.plateX(at.x), place.y + own.y + at.y);
    };
    const marks = [...(module?.querySelectorAll(":scope > g.terminal_mark") ?? [])];
    const [nearest] = marks.map((mark) => ({ mark, far: away(mark) })).sort((a, b) => a.far - b.far);
    if (!nearest || nearest.far > near) return null;
    return { title: module.dataset.title, mark: nearest.mark.textContent.trim() };
  }

  /** A box round a module's origin as drawn, in the plate frame. @param {string} words */
  plateBox(words) {
    const [x0, y0, x1, y1] = words.split(" ").map(Number);
    return this.mirrored
      ? { left: -x1, bottom: y0, right: -x0, top: y1 } : { left: x0, bottom: y0, right: x1, top: y1 };
  }

  /** Move everything drawn of a module to a placement; it is not redrawn. @param {string} id @param {{x: number, y: number}} place */
  move(id, place) {
    for (const group of this.svg.querySelectorAll(`g[data-key="${id}"][transform]`)) {
      group.setAttribute("transform", `translate(${this.plateX(place.x)} ${place.y})`);
    }
  }

  /** Swap in a module's drawing from the server. @param {string} id @param {string} html */
  swap(id, html) {
    const holder = document.createElement("div");
    holder.innerHTML = html;
    const parents = { zones: ".zones_layer", module: ".modules", "module far": ".modules", aerial: ".aerials" };
    for (const fresh of holder.querySelectorAll(`.sheet > g[data-key="${id}"]`)) {
      const role = fresh.getAttribute("class");
      const first = role.split(" ")[0];
      const old = this.svg.querySelector(`g.${first}[data-key="${id}"]`);
      if (!old) this.sheet.querySelector(parents[role]).append(fresh);
      else this.#refill(old, fresh);
    }
    this.scaled();
  }

  /** New contents in the old group, which keeps the focus. */
  #refill(old, fresh) {
    old.replaceChildren(...fresh.childNodes);
    for (const { name, value } of fresh.attributes) {
      if (name.startsWith("data-") || name === "transform") old.setAttribute(name, value);
    }
  }

  /** Over all others; they go before it, so that it keeps the focus. @param {string} id */
  raise(id) {
    const { element } = this.module(id);
    for (const other of [...element.parentElement.children].slice(0)) {
      if (element.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING) element.before(other);
    }
  }

  /** A module that came from the tray and was put back. @param {string} id */
  remove(id) {
    for (const group of this.svg.querySelectorAll(`g[data-key="${id}"]`)) group.remove();
  }

  /** The module among the tab stops: one, the chosen or the first. @param {string | null} id */
  rove(id) {
    const modules = [...this.svg.querySelectorAll("g.module")];
    const stop = modules.find((m) => m.dataset.key === id) ?? modules[0];
    for (const module of modules) module.setAttribute("tabindex", module === stop ? "0" : "-1");
  }

  /** The outline that a module is drawn with. @param {string} id */
  outlineOf(id) {
    return this.svg.querySelector(`g.module[data-key="${id}"] > path.pen-outline`);
  }

  get mmPerPixel() {
    return this.pixel ?? pixelSize(this.svg);
  }
}
