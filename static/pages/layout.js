/** The Layout page: puts its pieces together and listens to its controls. */
import { keepLettering } from "../lib/drawing_scale.js";
import { firstFrame } from "../lib/first_frame.js";
import { unfoldWhenOpened } from "../lib/folded.js";
import { MOST_MM, within } from "../lib/limits.js";
import { typedNumber } from "../lib/words.js";
import { leaveWhenSaved } from "../parts/leaving.js";
import { SaveQueue } from "../parts/save_queue.js";
import { VerdictLink } from "../parts/verdict_link.js";
import { Above } from "./layout/above.js";
import { Arranging } from "./layout/arrange.js";
import { Board } from "./layout/board.js";
import { Desk } from "./layout/desk.js";
import { Findings } from "./layout/findings.js";
import { Fits } from "./layout/fits.js";
import { Groups } from "./layout/groups.js";
import { BoardKeys } from "./layout/keys.js";
import { Page } from "./layout/page.js";
import { BoardPointer } from "./layout/pointer.js";
import { Server } from "./layout/server.js";

await firstFrame();
const place = /** @type {HTMLElement} */ (document.querySelector("[data-desk]"));
place.dataset.drawn = "";
keepLettering(document.body);
const server = new Server(place);
const board = new Board(place, place.querySelector("[data-piece=board]"));
const page = new Page(board);

const queue = new SaveQueue({
  revision: Number(place.dataset.revision),
  post: (url, body) => server.post(url, { ...body, view: board.view }),
  newest: () => server.newest(board.view),
  onSaved: (answer) => {
    page.tell("");
    desk.arrived(answer);
  },
  onRefused: (_change, words) => {
    page.tell(words);
    desk.refresh();
  },
  onLost: (_change, words) => page.tell(`${words} Your change waits here.`, [
    ["Put mine on top", () => queue.goOn()],
    ["Leave mine", () => {
      queue.giveUp();
      desk.refresh();
    }],
  ]),
  onStanding: (standing) => page.standing(standing),
});
const link = new VerdictLink(() => server.socket(), (verdict) => desk.judged(verdict), (linked) => {
  place.dataset.linked = String(linked);
  page.linked(linked && queue.standing !== "waiting");
  if (!linked && desk?.held) page.inHand(desk.title(desk.held.id), desk.held.outline.left, desk.held.outline.bottom, "not checked");
});
const desk = new Desk({ board, link, queue, page, server });
const pointer = new BoardPointer(desk);
new BoardKeys(desk);
new Arranging(desk);
const [aside, together, ground] = ["above", "group", "fits"].map((name) => document.querySelector(`[data-${name}]`));
desk.above = new Above(aside, aside.dataset.above);
desk.groups = new Groups(together, desk, together.dataset.group);
desk.fits = new Fits(ground, desk, ground.dataset.fits);
desk.findings = new Findings(document.querySelector("[data-piece=findings]"), desk);
unfoldWhenOpened(document.body, () => page.markRow(desk.chosenId));
desk.choose(null);
board.overlay.touching(page.touchingPairs());
place.dataset.ready = "true";
desk.findings.show();
const wires = document.querySelector("[data-runs]");
if (wires) void firstFrame().then(layWires);

async function layWires() {
  const { Runs } = await import("./layout/runs.js");
  desk.runs = new Runs(wires, desk);
  desk.runs.show();
}

addEventListener("focus", () => void desk.look());

addEventListener("beforeunload", (event) => {
  desk.settle();
  if (queue.waiting) event.preventDefault();
});

document.addEventListener("click", (event) => {
  const button = /** @type {Element} */ (event.target).closest("button, a[data-view]");
  if (!(button instanceof HTMLElement)) return;
  const data = button.dataset;
  if (data.view) return changeView(event, data.view);
  if (data.zoom) return zoom(data.zoom);
  if (data.do) return act(data.do);
  if (data.nudge) return nudge(data.nudge);
  if (data.place) return placeFromTray(data.place);
  if (data.move) return takeMove(data);
  if ("show" in data) showPlace(button);
});
// after the listener above: a view is changed without leaving
leaveWhenSaved(() => {
  desk.settle();
  return queue.standing === "saving" ? queue.outcome() : null;
});

/** @param {Event} event @param {string} view */
function changeView(event, view) {
  event.preventDefault();
  desk.cancel();
  desk.settle();
  page.setView(view);
  desk.refresh();
}

/** @param {string} way */
function zoom(way) {
  if (way === "all") board.window.reset();
  else board.window.zoomMiddle(way === "in" ? 1.4 : 1 / 1.4);
  board.show();
}

/** @param {string} what */
function act(what) {
  const id = desk.chosenId;
  if (!id) return;
  if (what === "turn") desk.turn(id, 90);
  else if (what === "lock") desk.lock(id);
  else if (what === "tray") desk.toTray(id);
  else if (desk.held) desk.putDown();
  else desk.pickUp(id);
}

/** @param {string} way */
function nudge(way) {
  const step = Number(document.querySelector("[name=nudge]:checked").value);
  const [dx, dy] = { left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1] }[way];
  desk.nudge(desk.chosenId, dx * step * (board.mirrored ? -1 : 1), dy * step);
}

/** The button puts it onto the middle of what is seen, in the hand. @param {string} id */
async function placeFromTray(id) {
  const { frame } = board.window;
  const centre = [board.plateX(frame.x + frame.width / 2), -(frame.y + frame.height / 2)];
  if (!(await desk.fromTray(id, centre))) return;
  pointer.grab = null;
  board.module(id)?.element.focus({ preventScroll: true });
  board.place.scrollIntoView({ block: "nearest" });
  page.say(`${desk.title(id)} is in the hand. Move it, then put it down.`);
}

/** @param {DOMStringMap} data */
function takeMove(data) {
  const to = { x: Number(data.x), y: Number(data.y), turn: Number(data.turn), face: data.face };
  desk.cancel();
  if (board.module(data.move)) board.move(data.move, to);
  desk.place({ [data.move]: to });
}

/** @param {HTMLElement} button */
function showPlace(button) {
  const { x, y, face } = button.dataset;
  const card = button.closest("[data-finding]");
  for (const other of document.querySelectorAll("[data-finding].is-chosen")) other.classList.remove("is-chosen");
  card.classList.add("is-chosen");
  const gravity = ["stop", "warn", "note"].find((kind) => card.classList.contains(`is-${kind}`));
  const show = () => {
    board.window.reveal(board.plateX(Number(x)), -Number(y));
    board.show();
    board.overlay.show({ x: Number(x), y: Number(y) }, gravity);
    board.place.scrollIntoView({ block: "nearest" });
  };
  if (board.view === "through" || board.view === face) return show();
  page.setView(face);
  desk.refresh().then(show);
}

document.addEventListener("change", (event) => {
  const entry = event.target;
  if (!(entry instanceof HTMLElement)) return;
  if (entry.dataset.layer) board.showLayer(entry.dataset.layer, /** @type {HTMLInputElement} */ (entry).checked);
  if ("snap" in entry.dataset) desk.grid = Number(/** @type {HTMLSelectElement} */ (entry).value);
  if (entry.closest("[data-chosen-form]")) typed(/** @type {HTMLFormElement} */ (entry.closest("form")));
});

document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (form.matches("[data-chosen-form]")) {
    event.preventDefault();
    typed(form);
  } else if (form.matches("[data-accept]")) {
    event.preventDefault();
    const { rule, subjects } = form.dataset;
    const reason = String(new FormData(form).get("reason"));
    queue.add({ url: server.urls.accept, body: { rule, subjects: subjects.split(" "), reason } });
  } else if (form.matches("[data-history]")) {
    event.preventDefault();
    step(form);
  }
});

/** Undo or redo without leaving the page. @param {HTMLFormElement} form */
async function step(form) {
  desk.cancel();
  desk.settle();
  const body = new URLSearchParams(/** @type {any} */ (new FormData(form)));
  body.set("revision", String(queue.revision));
  try {
    await fetch(form.action, { method: "POST", body, redirect: "manual" });
    await desk.refresh();
  } catch {
    page.linked(false);
  }
}

let underWay = "";

/** What was typed for the chosen module. @param {HTMLFormElement} form */
async function typed(form) {
  const module = desk.chosenId && board.module(desk.chosenId);
  if (!module || module.locked) return;
  const values = new FormData(form);
  const [x, y, turn] = ["x", "y", "turn"].map((name) => typedNumber(String(values.get(name))));
  const face = String(values.get("face"));
  if (!checked(form, { x, y, turn })) return;
  if (face !== module.place.face) return desk.flip(module.id);
  const asked = [module.id, x, y, turn].join(" ");
  if (asked === underWay || isThere(module, x, y, turn)) return;
  underWay = asked; // Enter tells of a change and then of its own
  if (desk.held) desk.cancel();
  await desk.rework(module.id, { face, turn, ...(turn === module.place.turn && { corner: [x, y] }) });
  underWay = "";
}

/** Whether a module stands like that already. */
function isThere({ box, place: { x, y, turn } }, left, bottom, turned) {
  return turn === turned && Math.abs(box.left + x - left) < 0.0006 && Math.abs(box.bottom + y - bottom) < 0.0006;
}

/** Whether the three figures can be taken; what is wrong is said beside them. */
function checked(form, figures) {
  const most = { x: MOST_MM, y: MOST_MM, turn: 360 };
  const wrong = Object.keys(figures).filter((name) => !(Math.abs(figures[name]) <= most[name]));
  const fault = form.querySelector("[data-chosen-fault]");
  for (const name of Object.keys(figures)) form.elements[name].setAttribute("aria-invalid", String(wrong.includes(name)));
  fault.hidden = !wrong.length;
  fault.textContent = wrong.length
    ? `${wrong.map((name) => (name === "turn" ? "turned" : name)).join(", ")}: a number from \u2212${most[wrong[0]]} to ${most[wrong[0]]}` : "";
  return !wrong.length;
}

// From the tray onto the plate with the pointer.
document.addEventListener("pointerdown", (event) => {
  const grip = /** @type {Element} */ (event.target).closest("[data-tray] .lay-grip, [data-tray] .lay-tray-words");
  if (!grip || event.button !== 0 || /** @type {Element} */ (event.target).closest("button")) return;
  const id = /** @type {HTMLElement} */ (grip.closest("[data-tray]")).dataset.tray;
  dragFromTray(event, id, /** @type {HTMLElement} */ (grip));
});

/** @param {PointerEvent} start @param {string} id @param {HTMLElement} grip */
function dragFromTray(start, id, grip) {
  start.preventDefault();
  grip.setPointerCapture(start.pointerId);
  let asked = false;
  let last = start;
  const move = async (/** @type {PointerEvent} */ event) => {
    last = event;
    const at = board.toPlate(event);
    if (asked) return desk.held?.id === id && desk.moveTo(at.x - middleOf("x"), at.y - middleOf("y"));
    if (Math.hypot(event.clientX - start.clientX, event.clientY - start.clientY) < 4) return;
    asked = true;
    await desk.fromTray(id, [at.x, at.y].map(within));
    move(last);
  };
  const middleOf = (/** @type {"x" | "y"} */ way) => {
    const { box } = desk.held;
    return way === "x" ? (box.left + box.right) / 2 : (box.bottom + box.top) / 2;
  };
  const end = (/** @type {PointerEvent} */ event) => {
    for (const [name, listener] of listeners) grip.removeEventListener(name, listener);
    if (desk.held?.id !== id) return;
    const frame = board.place.getBoundingClientRect();
    const over = event.clientX > frame.left && event.clientX < frame.right && event.clientY > frame.top && event.clientY < frame.bottom;
    if (event.type === "pointerup" && over) desk.putDown();
    else desk.cancel();
  };
  const listeners = /** @type {[string, any][]} */ ([["pointermove", move], ["pointerup", end], ["pointercancel", end]]);
  for (const [name, listener] of listeners) grip.addEventListener(name, listener);
}
