/**
 * The pointer on the board: drag a module, or press a chosen one to pick it up and press again to
 * put it down; drag the ground to shift, two fingers or the wheel to zoom.
 */
import { within } from "../../lib/limits.js";

const DRAG_PX = 4;
const WHEEL = 0.0015;

export class BoardPointer {
  /** @param {import("./desk.js").Desk} desk */
  constructor(desk) {
    this.desk = desk;
    this.board = desk.board;
    this.pointers = new Map();
    this.grab = null; // from the origin of what is held to the pointer, in mm
    const { place } = this.board;
    place.addEventListener("pointerdown", (event) => this.#down(event));
    place.addEventListener("pointermove", (event) => this.#move(event));
    place.addEventListener("pointerup", (event) => this.#up(event));
    place.addEventListener("pointercancel", (event) => this.#lost(event));
    place.addEventListener("lostpointercapture", (event) => this.#lost(event));
    place.addEventListener("touchmove", (event) => {
      // what a finger has hold of moves, not the page
      if (event.cancelable && /^(drag|wire|put|pinch)$/.test(this.gesture?.kind ?? "")) event.preventDefault();
    }, { passive: false });
    place.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
    place.addEventListener("contextmenu", (event) => this.desk.held && event.preventDefault());
    place.addEventListener("pointerleave", () => {
      this.desk.runs?.point(null);
      this.desk.page.pointer(null);
    });
  }

  #down(event) {
    if (event.button !== 0 && event.button !== 1) return;
    if (!event.target.closest("svg.board")) return;
    this.pointers.set(event.pointerId, { x: event.clientX, y: event.clientY, startX: event.clientX, startY: event.clientY });
    this.board.place.setPointerCapture(event.pointerId);
    if (this.pointers.size === 2) return this.#pinch(event);
    if (event.button === 1) return this.#begin("shift", event);
    this.#press(event);
  }

  /** What a press on the board begins. */
  #press(event) {
    const { desk } = this;
    if (desk.held && !desk.nudging) {
      event.preventDefault(); // nothing under a finger takes the focus from what it puts down
      this.#carryHere(event);
      return this.#begin("put", event);
    }
    desk.settle();
    const grip = desk.runs?.grip(event);
    if (grip) {
      event.preventDefault();
      // drawn anew while it is led, what the finger pressed hears of it alone
      event.target.addEventListener("touchmove", (move) => move.cancelable && move.preventDefault(), { passive: false });
      return this.#begin("wire", event, { grip });
    }
    const element = event.target.closest("g.module");
    if (!element) return this.#begin("shift", event);
    const module = this.board.moduleOf(element);
    const wasChosen = desk.chosenId === module.id;
    desk.choose(module.id, true);
    event.preventDefault(); // the focus stays on the module
    this.#begin(module.locked ? "locked" : "drag", event, { id: module.id, wasChosen });
  }

  #begin(kind, event, more = {}) {
    this.gesture = { kind, pointerId: event.pointerId, moved: false, ...more };
  }

  #move(event) {
    const at = this.board.toPlate(event);
    const known = this.pointers.get(event.pointerId);
    if (known) Object.assign(known, { x: event.clientX, y: event.clientY, beforeX: known.x, beforeY: known.y });
    if (event.pointerType === "mouse") this.desk.page.pointer(at, event);
    if (this.gesture?.kind === "pinch") return this.#pinched();
    if (known && this.gesture?.pointerId === event.pointerId) return this.#dragged(event, known, at);
    if (this.desk.held && !this.desk.nudging && event.pointerType === "mouse") return this.#carry(at);
    if (this.desk.held || event.pointerType !== "mouse") return;
    this.desk.page.terminal(this.board.terminalAt(at, event.target));
    this.desk.runs?.point(at, event.target);
    this.desk.ask([at.x, at.y].map(within));
  }

  #dragged(event, known, at) {
    const { gesture, desk } = this;
    const far = Math.hypot(event.clientX - known.startX, event.clientY - known.startY);
    if (!gesture.moved && far < DRAG_PX) return;
    const first = !gesture.moved;
    gesture.moved = true;
    if (gesture.kind === "locked") return desk.page.refuse(desk.title(gesture.id), event);
    if (gesture.kind === "shift") return this.#shift(event, known);
    if (gesture.kind === "wire") return desk.runs.leadTo(gesture.grip, at);
    if (gesture.kind === "drag") {
      if (first) this.#take(gesture.id, { clientX: known.startX, clientY: known.startY });
      this.#carry(at);
    } else if (gesture.kind === "put") this.#carry(at);
  }

  #take(id, pointer) {
    if (!this.desk.pickUp(id)) return;
    this.grabAt(this.board.toPlate(pointer));
  }

  /** What is held hangs at the pointer as it does now. */
  grabAt(at) {
    const { place } = this.desk.held;
    this.grab = { x: at.x - place.x, y: at.y - place.y };
  }

  #carry(at) {
    const { held } = this.desk;
    if (!held) return;
    if (!this.grab) this.grabAt(at);
    this.desk.moveTo(within(at.x - this.grab.x), within(at.y - this.grab.y));
  }

  /** A finger has no way before it presses: what is held comes to where it presses. */
  #carryHere(event) {
    const { held } = this.desk;
    const at = this.board.toPlate(event);
    if (event.pointerType !== "mouse" || !this.grab) {
      const box = held.outline;
      const inside = at.x > box.left && at.x < box.right && at.y > box.bottom && at.y < box.top;
      this.grab = inside ? { x: at.x - held.place.x, y: at.y - held.place.y }
        : { x: (held.box.left + held.box.right) / 2, y: (held.box.bottom + held.box.top) / 2 };
    }
    this.#carry(at);
  }

  #shift(event, known) {
    if (this.board.window.isWhole) return;
    const from = this.board.toFrame({ clientX: known.beforeX, clientY: known.beforeY });
    const to = this.board.toFrame(event);
    this.board.window.shift(from.x - to.x, from.y - to.y);
    this.board.show();
  }

  #up(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    const { gesture, desk } = this;
    if (gesture?.kind === "pinch" || gesture?.pointerId !== event.pointerId) {
      if (!this.pointers.size) this.gesture = null;
      return;
    }
    this.gesture = null;
    if (gesture.kind === "put" || (gesture.kind === "drag" && gesture.moved)) {
      this.grab = null;
      desk.putDown();
    } else if (gesture.kind === "drag" && gesture.wasChosen) this.#take(gesture.id, event);
    else if (gesture.kind === "locked" && gesture.moved) desk.page.unbox();
    else if (gesture.kind === "locked" && gesture.wasChosen) desk.page.say(`${desk.title(gesture.id)} is locked`);
    else if (gesture.kind === "wire" && gesture.moved) desk.runs.led();
    else if (/shift|wire/.test(gesture.kind) && !gesture.moved && !desk.runs?.pressed(this.board.toPlate(event))) desk.choose(null);
  }

  #lost(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    this.gesture = null;
    this.grab = null;
    this.desk.runs?.leave();
    this.desk.page.unbox();
    this.desk.cancel();
  }

  #pinch() {
    if (this.gesture?.kind === "drag" && this.gesture.moved) this.desk.cancel();
    this.gesture = { kind: "pinch", apart: this.#apart() };
  }

  #pinched() {
    const apart = this.#apart();
    const [a, b] = [...this.pointers.values()];
    const middle = this.board.toFrame({ clientX: (a.x + b.x) / 2, clientY: (a.y + b.y) / 2 });
    this.board.window.zoomAt(apart / this.gesture.apart, middle.x, middle.y);
    this.board.show();
    this.gesture.apart = apart;
  }

  #apart() {
    const [a, b] = [...this.pointers.values()];
    return Math.max(1, Math.hypot(a.x - b.x, a.y - b.y));
  }

  #wheel(event) {
    event.preventDefault();
    const at = this.board.toFrame(event);
    this.board.window.zoomAt(Math.exp(-event.deltaY * WHEEL * (event.deltaMode ? 20 : 1)), at.x, at.y);
    this.board.show();
  }
}
