import { nextIn } from "../lib/choosing.js";
import { SwapPage } from "../parts/swap_page.js";
import { workOut } from "../parts/worked_out.js";

const FIND_AFTER_MS = 250;
const WAYS = /** @type {const} */ ({ ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" });

const swap = new SwapPage(ready);
let timer = 0;
let searching = new AbortController();
document.addEventListener("click", clicked);
document.addEventListener("keydown", pressed);
document.addEventListener("focusin", (event) => roveTo(spotOf(event.target)));
document.addEventListener("change", changed);
document.addEventListener("input", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-search]")) findLater();
});
document.addEventListener("submit", (event) => {
  if (!(event.target instanceof Element) || !event.target.matches("[data-search]")) return;
  event.preventDefault();
  findLater();
});
if (matchMedia("(max-width:45rem)").matches) {
  for (const group of document.querySelectorAll(".join-group")) group.removeAttribute("open");
}
ready();

/** After each answer: what was done is said, and one terminal of the board is the way in by Tab. */
function ready(sent = false) {
  if (sent) say(document.querySelector("form[data-history=undo] button")?.getAttribute("title")?.replace(/^Undo: /, "Done: ") ?? "");
  document.querySelector("main")?.classList.add("is-live");
  workOut();
  const all = spots();
  const [first] = all;
  for (const spot of all) spot.setAttribute("tabindex", spot === first ? "0" : "-1");
  const start = document.querySelector(".join-spot.is-start");
  if (start) roveTo(start);
}

/** @returns {SVGElement[]} */
function spots() {
  return [...document.querySelectorAll(".join-spot")].filter((one) => one instanceof SVGElement);
}

/** @param {EventTarget | null} target */
function spotOf(target) {
  return target instanceof Element ? target.closest(".join-spot") : null;
}

/** @param {Element | null} spot */
function roveTo(spot) {
  if (!spot) return;
  for (const one of spots()) one.setAttribute("tabindex", one === spot ? "0" : "-1");
}

/** @param {MouseEvent} event */
function clicked(event) {
  if (event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
  const target = event.target instanceof Element ? event.target : null;
  const end = target?.closest("a[data-end]");
  if (end) {
    event.preventDefault();
    void takeEnd(end.getAttribute("data-end") ?? "");
    return;
  }
  const link = target?.closest("a[data-show]");
  if (!(link instanceof HTMLAnchorElement)) return;
  event.preventDefault();
  void swap.open(link.href, link.dataset.then);
}

/** @param {KeyboardEvent} event */
function pressed(event) {
  if (event.key === "Escape" && chosen("from") && document.querySelector("[data-board]")) {
    void takeEnd("");
    return;
  }
  const spot = spotOf(event.target);
  if (!spot || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === " " || event.key === "Enter") {
    event.preventDefault();
    void takeEnd(spot.getAttribute("data-end") ?? "");
  } else if (event.key in WAYS) {
    event.preventDefault();
    go(spot, WAYS[/** @type {keyof typeof WAYS} */ (event.key)]);
  }
}

/** @param {Element} spot @param {"left" | "right" | "up" | "down"} way */
function go(spot, way) {
  const places = spots().map((one) => ({
    id: one.dataset.end ?? "", x: Number(one.dataset.x), y: Number(one.dataset.y),
  }));
  const here = places.find((one) => one.id === spot.getAttribute("data-end"));
  const next = here ? nextIn(here, places, way) : null;
  spots().find((one) => one.dataset.end === next)?.focus();
}

/** @param {string} name */
function field(name) {
  const form = document.getElementById("add");
  const one = form instanceof HTMLFormElement ? form.elements.namedItem(name) : null;
  return one instanceof HTMLSelectElement ? one : null;
}

/** @param {string} name */
function chosen(name) {
  return field(name)?.value ?? "";
}

/**
 * The first end pressed is where the wire starts, the second where it ends; the first again, or
 * none, forgets it.
 * @param {string} end
 */
async function takeEnd(end) {
  await swap.idle;
  const from = field("from");
  const to = field("to");
  const form = document.getElementById("add");
  if (!from || !to || !(form instanceof HTMLFormElement)) return;
  if (from.value && end && end !== from.value) {
    to.value = end;
    await swap.send(form);
    return;
  }
  from.value = end === from.value ? "" : end;
  to.value = "";
  const name = from.selectedOptions[0]?.textContent ?? "";
  await swap.open(withQuery({ from: from.value, to: "" }));
  document.querySelector(`.join-spot[data-end="${CSS.escape(end)}"]`)?.focus();
  say(from.value ? `The wire starts at ${name}. Choose where it ends.` : "No start chosen.");
}

/** @param {Event} event */
function changed(event) {
  if (!(event.target instanceof HTMLSelectElement)) return;
  if (event.target.id === "from") void swap.open(withQuery({ from: event.target.value, to: chosen("to") }));
}

/** This page's address with some of its query changed. @param {Record<string, string>} query */
function withQuery(query) {
  const url = new URL(location.href);
  for (const [key, value] of Object.entries(query)) {
    if (value) url.searchParams.set(key, value);
    else url.searchParams.delete(key);
  }
  url.pathname = url.pathname.replace(/\/joining\/.*$/, "/joining");
  return url.href;
}

function findLater() {
  clearTimeout(timer);
  timer = window.setTimeout(() => void find(), FIND_AFTER_MS);
}

/** Only the table follows what is typed; the field keeps its text and focus. */
async function find() {
  const form = document.querySelector("[data-search]");
  if (!(form instanceof HTMLFormElement)) return;
  const url = withQuery(Object.fromEntries([...new FormData(form)].map(([k, v]) => [k, String(v)])));
  searching.abort(); // an older answer that comes late must not replace a newer one
  const { signal } = searching = new AbortController();
  const text = await fetch(url, { signal }).then((answer) => (answer.ok ? answer.text() : null)).catch(() => null);
  if (text === null || signal.aborted) return;
  const page = new DOMParser().parseFromString(text, "text/html");
  const old = document.getElementById("wires");
  const fresh = page.getElementById("wires");
  if (old && fresh) old.replaceWith(document.importNode(fresh, true));
  history.replaceState(null, "", url);
  say(`${document.querySelectorAll("[data-wire]").length} wires shown`);
}

/** @param {string} words */
function say(words) {
  const status = document.querySelector("[data-status]");
  if (status) status.textContent = words;
}
