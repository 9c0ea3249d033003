/** The keyboard on the board. Letters work only while a module of the drawing has the focus. */
import { nextIn } from "../../lib/choosing.js";
import { boxOn } from "./desk.js";

const WAYS = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };
const STEPS = { left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1] };

export class BoardKeys {
  /** @param {import("./desk.js").Desk} desk */
  constructor(desk) {
    this.desk = desk;
    desk.board.place.addEventListener("keydown", (event) => {
      const id = event.target.closest?.("g.module")?.dataset.key ?? desk.held?.id;
      if (id && this.#pressed(event, id)) {
        event.preventDefault();
        event.stopPropagation();
      }
    });
    desk.board.place.addEventListener("focusin", (event) => {
      const id = event.target.closest?.("g.module")?.dataset.key;
      if (id && id !== desk.chosenId && !desk.held) desk.choose(id);
    });
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && desk.held) desk.cancel();
    });
  }

  /** Whether the key means something here. */
  #pressed(event, id) {
    if (event.ctrlKey || event.metaKey) return false;
    const way = WAYS[event.key];
    if (way) return this.#arrow(event, id, way);
    const { desk } = this;
    switch (event.key) {
      case " ":
      case "Enter":
        return this.#hold(id);
      case "r":
      case "R":
        desk.turn(id, event.shiftKey ? 15 : 90);
        return true;
      case "f":
      case "F":
        desk.flip(id);
        return true;
      case "l":
      case "L":
        desk.lock(id);
        return true;
      case "Delete":
      case "Backspace":
        desk.toTray(id);
        return true;
      case "+":
      case "-":
      case "0":
        return this.#zoom(event.key);
      default:
        return false;
    }
  }

  #arrow(event, id, way) {
    const { desk } = this;
    if (desk.held) {
      const size = event.altKey ? 0.1 : event.shiftKey ? 10 : 1;
      const [dx, dy] = STEPS[way];
      desk.step(dx * size * (desk.board.mirrored ? -1 : 1), dy * size);
      return true;
    }
    const { board } = desk;
    const spots = board.modules().map((m) => {
      const box = boxOn(m);
      return { id: m.id, x: board.plateX((box.left + box.right) / 2), y: (box.bottom + box.top) / 2 };
    });
    const next = nextIn(spots.find((spot) => spot.id === id), spots, way);
    if (next) desk.choose(next, true);
    return true;
  }

  #hold(id) {
    const { desk } = this;
    if (desk.held) desk.putDown();
    else if (desk.pickUp(id)) {
      desk.board.module(id).element.focus({ preventScroll: true });
      desk.page.say(`${desk.title(id)} picked up`);
    }
    return true;
  }

  #zoom(key) {
    const { board } = this.desk;
    if (key === "0") board.window.reset();
    else board.window.zoomMiddle(key === "+" ? 1.4 : 1 / 1.4);
    board.show();
    return true;
  }
}
