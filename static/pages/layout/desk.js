/** The work on the board: what is chosen, what is held, what is saved. Knows the page's elements. */
import { Held } from "../../parts/held.js";
import { figure, verdictWords } from "../../lib/words.js";
import { Groups } from "./groups.js";

const SNAP_PX = 7;
const SPEAK_MS = 250;
const SETTLE_MS = 500; // single key steps within this time are one change

export class Desk {
  /** @param {{board: import("./board.js").Board, link: any, queue: any, page: any, server: any}} parts */
  constructor({ board, link, queue, page, server }) {
    Object.assign(this, { board, link, queue, page, server });
    this.chosenId = null;
    this.held = null;
    this.verdicts = new Map(); // module id -> words of its last verdict
    this.grid = 1;
    this.pending = null; // pieces of the page that arrived while a module was held
  }

  /** @param {string} id */
  title(id) {
    return this.board.module(id)?.title ?? this.page.titleOf(id) ?? id;
  }

  // choosing

  /** @param {string | null} id @param {boolean} focus */
  choose(id, focus = false) {
    this.chosenId = id;
    if (id) this.runs?.choose(null);
    this.board.rove(id);
    for (const group of this.board.svg.querySelectorAll("g.module, g.zones")) {
      group.classList.toggle("is-chosen", group.dataset.key === id);
    }
    this.page.markRow(id);
    this.groups?.show(id);
    this.above?.show(id, this.queue.revision);
    this.showChosen();
    if (focus && id) this.board.module(id)?.element.focus({ preventScroll: true });
  }

  showChosen() {
    const module = this.chosenId && this.board.module(this.chosenId);
    const box = module && !this.held ? boxOn(module) : this.held?.outline ?? null;
    this.board.overlay.chosen(box);
    this.fits?.show(this.chosenId, module && (this.held?.place ?? module.place), box && middle(box), this.queue.revision);
    if (!module) return this.page.chosen(null);
    const corner = box ?? boxOn(module);
    this.page.chosen({
      title: module.title, why: module.why, x: corner.left, y: corner.bottom, turn: (this.held?.place ?? module.place).turn,
      face: (this.held?.place ?? module.place).face, locked: module.locked, held: Boolean(this.held),
      verdict: this.verdicts.get(module.id) ?? this.page.verdictOf(module.id),
    });
  }

  // holding

  /** Take hold of a module that stands on the plate; false where it is locked. @param {string} id */
  pickUp(id) {
    const module = this.board.module(id);
    if (!module) return false;
    if (module.locked) {
      this.page.say(`${module.title} is locked`);
      return false;
    }
    this.cancel();
    this.settle();
    this.choose(id);
    this.held = new Held(id, module.place, module.place, module.box, this.#mates(id));
    module.element.classList.add("is-moving");
    module.element.setAttribute("aria-pressed", "true");
    this.board.raise(id);
    this.board.overlay.ghost(this.board.outlineOf(id), module.element.getAttribute("transform"));
    this.board.svg.classList.add("is-holding");
    this.showChosen();
    return true;
  }

  /** Those of its groups that stand on the plate and are free to move. */
  #mates(id) {
    const ids = new Set(Groups.mates(id));
    const own = this.board.module(id).place.face;
    const mates = this.board.modules().filter((m) => ids.has(m.id) && m.id !== id && !m.locked && m.place.face === own);
    return new Map(mates.map((m) => [m.id, m.place]));
  }

  /** Move what is held so that its origin comes to a plate point. */
  moveTo(x, y) {
    const { held } = this;
    const mates = new Set([held.id, ...held.mates.keys()]);
    const others = this.board.modules()
      .filter((m) => !mates.has(m.id) && m.place.face === held.place.face).map(boxOn);
    held.moveTo(x, y, others, this.grid, SNAP_PX * this.board.mmPerPixel);
    this.#moved();
  }

  step(dx, dy) {
    this.held.step(dx, dy);
    this.#moved();
  }

  #moved() {
    for (const [id, place] of Object.entries(this.held.placements())) this.board.move(id, place);
    this.board.overlay.chalk(this.held.chalk);
    this.ask();
    this.showChosen();
  }

  ask(at = null) {
    const { held } = this;
    const question = { revision: this.queue.revision, ...(held && { id: held.id, ...held.place }) };
    if (held || at) this.link.ask(at ? { ...question, at } : question);
  }

  /** The server's answer to the newest question. */
  judged({ revision, touches, free }) {
    if (revision > this.queue.revision && !this.queue.waiting && !this.held) this.refresh();
    if (free) this.page.free(free);
    if (!this.held) return;
    const words = verdictWords(this.held.id, touches, (id) => this.title(id));
    this.verdicts.set(this.held.id, words);
    this.board.overlay.touching(touches.filter(([, , kind]) => !/plate|deep/.test(kind)).map(([a, b]) => [a, b]));
    this.board.module(this.held.id)?.element.classList.toggle("is-wrong", touches.length > 0);
    const { left, bottom } = this.held.outline;
    this.page.inHand(this.title(this.held.id), left, bottom, words, touches.length > 0);
    this.page.say(`${figure(left)}, ${figure(bottom)}, ${words}`, SPEAK_MS);
    this.showChosen();
  }

  /** Put down what is held: the change is saved, or nothing where it did not move. */
  putDown(focus = true) {
    const { held } = this;
    if (!held) return;
    this.#endHold();
    if (held.isMoved) this.place(held.placements());
    else this.applyPending();
    this.choose(held.id, focus);
  }

  /** Back to where it was. */
  cancel() {
    const { held } = this;
    if (!held) return;
    this.#endHold();
    if (!held.start) this.board.remove(held.id);
    else if (held.start.turn !== held.place.turn || held.start.face !== held.place.face) this.refresh();
    else {
      this.board.move(held.id, held.start);
      for (const [id, was] of held.mates) this.board.move(id, was);
    }
    this.page.say(`${this.title(held.id)} is back where it was`);
    this.verdicts.delete(held.id);
    this.applyPending();
    this.choose(held.start ? held.id : null);
  }

  #endHold() {
    const module = this.board.module(this.held.id);
    module?.element.classList.remove("is-moving", "is-wrong");
    module?.element.setAttribute("aria-pressed", "false");
    this.board.svg.classList.remove("is-holding");
    this.held = null;
    this.link.forget();
    this.board.overlay.ghost(null, "");
    this.board.overlay.chalk([]);
    this.board.overlay.touching(this.page.touchingPairs());
    this.page.inHand(null);
  }

  // single steps without picking up, gathered to one change

  nudge(id, dx, dy) {
    if (!this.held && !this.pickUp(id)) return;
    this.nudging = true;
    this.step(dx, dy);
    clearTimeout(this.settling);
    this.settling = setTimeout(() => this.settle(), SETTLE_MS);
  }

  settle() {
    clearTimeout(this.settling);
    if (!this.nudging) return;
    this.nudging = false;
    this.putDown(false);
  }

  // changes

  /** @param {Record<string, import("../../parts/held.js").Placement | null>} placements */
  place(placements) {
    this.#note(placements);
    this.queue.add({
      url: this.server.urls.place, body: { placements, view: this.board.view },
      isIn: (answer) => Object.entries(placements).every(([id, place]) => same(answer.placements[id], place)),
    });
  }

  /** Remember in the drawing where things are now, so that the next hold starts from there. */
  #note(placements) {
    for (const [id, place] of Object.entries(placements)) {
      const module = this.board.module(id);
      if (!module || !place) continue;
      Object.assign(module.element.dataset, { x: place.x, y: place.y });
      module.element.classList.add("is-waiting");
    }
  }

  async turn(id, degrees) {
    const module = this.#free(id);
    if (!module) return;
    const place = this.held?.place ?? module.place;
    const turn = wrapped(place.turn + degrees);
    if (!this.held) return this.rework(id, { face: place.face, turn });
    const drawn = await this.server.drawn({ ...this.#whole(id), face: place.face, turn, centre: middle(this.held.outline), now: place });
    if (!drawn || this.held?.id !== id) return;
    this.#swap(id, drawn);
    this.held.redraw(drawn.placement, this.board.plateBox(this.board.module(id).element.dataset.box), matesOf(drawn));
    this.board.module(id).element.classList.add("is-moving", "is-chosen");
    this.#moved();
  }

  /** Another turn, face or corner, as one change. @param {string} id @param {{face: string, turn: number, corner?: number[]}} wanted */
  async rework(id, wanted) {
    const module = this.#free(id);
    if (!module) return false;
    const where = wanted.corner ? {} : { centre: middle(boxOn(module)) };
    const drawn = await this.server.drawn({ ...this.#whole(id), ...where, ...wanted, now: module.place });
    if (!drawn) return false;
    if (drawn.placement.face === module.place.face) {
      this.#swap(id, drawn);
      this.choose(id);
    }
    this.place({ [id]: drawn.placement, ...Object.fromEntries(matesOf(drawn)) });
    return true;
  }

  /** What the server is asked for: a module with its group. @param {string} id */
  #whole(id) {
    return { part: id, together: true, view: this.board.view };
  }

  /** Swap in a module and those of its group as the server drew them. */
  #swap(id, drawn) {
    this.board.swap(id, drawn.svg);
    for (const [mate, { svg }] of Object.entries(drawn.mates)) this.board.swap(mate, svg);
  }

  async flip(id) {
    const module = this.#free(id);
    if (!module) return;
    const held = this.held?.id === id ? this.held : null;
    const place = held?.place ?? module.place;
    const centre = middle(held?.outline ?? boxOn(module));
    if (held) this.#endHold();
    const face = place.face === "front" ? "back" : "front";
    const drawn = await this.server.drawn({ ...this.#whole(id), face, turn: place.turn, centre, now: place });
    if (!drawn) return;
    this.chosenId = id;
    this.focusAgain = true;
    if (this.board.view !== "through") this.page.setView(face);
    this.place({ [id]: drawn.placement, ...Object.fromEntries(matesOf(drawn)) });
    this.page.say(`${module.title} to the ${face}`);
  }

  toTray(id) {
    const module = this.#free(id);
    if (!module) return;
    if (this.held) this.cancel();
    const all = [id, ...this.#mates(id).keys()];
    this.place(Object.fromEntries(all.map((one) => [one, null])));
    this.page.say(all.length > 1 ? `${module.title} and its group go back to the tray` : `${module.title} goes back to the tray`);
  }

  lock(id) {
    const module = this.board.module(id);
    if (!module) return;
    this.settle();
    if (this.held) this.putDown();
    const locked = !module.locked;
    this.queue.add({ url: this.server.urls.lock, body: { part: id, locked, view: this.board.view } });
    this.page.say(`${module.title} ${locked ? "locked" : "unlocked"}`);
  }

  /** A module that may be changed, or null with the reason said. */
  #free(id) {
    const module = this.board.module(id);
    if (module?.locked) this.page.say(`${module.title} is locked`);
    return module && !module.locked ? module : null;
  }

  /** From the tray into the hand, its middle at a plate point. @param {string} id @param {number[]} centre */
  async fromTray(id, centre) {
    this.cancel();
    const face = this.board.view === "back" ? "back" : "front";
    const drawn = await this.server.drawn({ part: id, face, turn: 0, centre, view: this.board.view });
    if (!drawn) return false;
    this.board.swap(id, drawn.svg);
    const module = this.board.module(id);
    this.held = new Held(id, null, drawn.placement, module.box);
    this.held.moveTo(drawn.placement.x, drawn.placement.y, [], this.grid, 0);
    module.element.classList.add("is-moving");
    this.board.svg.classList.add("is-holding");
    this.choose(id);
    this.#moved();
    return true;
  }

  // the newest revision

  /** The server's pieces of the page, those that changed; kept until nothing is held. */
  arrived(answer) {
    this.pending = { ...answer, pieces: { ...this.pending?.pieces, ...answer.pieces } };
    if (!this.held) this.applyPending();
  }

  applyPending() {
    const answer = this.pending;
    if (!answer || this.held || this.queue.waiting) return;
    this.pending = null;
    const had = this.board.place.contains(document.activeElement) || this.focusAgain;
    this.focusAgain = false;
    this.page.apply(answer);
    this.verdicts.clear();
    this.board.overlay.touching(this.page.touchingPairs());
    this.choose(this.chosenId && this.board.module(this.chosenId) ? this.chosenId : null, had);
    this.findings?.show();
    this.runs?.show();
  }

  /** What was changed in another window, where nothing is in the hand or waits to be saved. */
  async look() {
    if (this.held || this.queue.waiting) return;
    try {
      await this.refresh(this.queue.revision);
    } catch {
      // not connected: the line under the bar says so
    }
  }

  /** @param {number} [than] a revision that is known already */
  async refresh(than = 0) {
    const { status, body } = await this.server.newest(this.board.view, than);
    if (status !== 200 || body.revision < this.queue.revision) return;
    this.queue.revision = body.revision;
    this.arrived(body);
  }
}

/** A module's outline box on the plate. */
export function boxOn({ box, place }) {
  return { left: box.left + place.x, bottom: box.bottom + place.y, right: box.right + place.x, top: box.top + place.y };
}

/** Where those of the group come to. @returns {Map<string, import("../../parts/held.js").Placement>} */
function matesOf(drawn) {
  return new Map(Object.entries(drawn.mates).map(([id, { placement }]) => [id, placement]));
}

function middle(box) {
  return [(box.left + box.right) / 2, (box.bottom + box.top) / 2];
}

/** A turn from 0 to under 360. */
function wrapped(turn) {
  const rounded = Math.round(turn * 1000) / 1000;
  return ((rounded % 360) + 360) % 360;
}

function same(one, other) {
  if (!one || !other) return !one && !other;
  return one.face === other.face && ["x", "y", "turn"].every((key) => Math.abs(one[key] - other[key]) < 0.0006);
}
