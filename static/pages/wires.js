import { unfold, unfoldWhenOpened } from "../lib/folded.js";
import { keepPage, versionOf } from "../lib/kept_page.js";
import { Waiting } from "../lib/waiting.js";
import { SwapPage } from "../parts/swap_page.js";
import { workOut } from "../parts/worked_out.js";

const AGAIN_MS = 4000;
const LIST = ["#cut", "header.bar"]; // what a tick changes
const WHOLE = ["main", "header.bar"];

/** Ticks that the server does not know yet. @type {Waiting<{done: boolean, made: string}>} */
const waiting = new Waiting("platewright ticks");
const swap = new SwapPage(ready);
let sending = false;
let keptWords = ""; // whether the page opens without a link
document.addEventListener("change", ticked);
document.addEventListener("click", clicked);
window.addEventListener("online", () => void send());
if (matchMedia("(max-width:45rem)").matches && !location.search && !location.hash) {
  for (const fold of document.querySelectorAll(".wir-fold")) fold.removeAttribute("open");
}
unfoldWhenOpened(/** @type {HTMLElement} */ (document.querySelector("main")), () => {});
document.addEventListener("visibilitychange", lookedAt);
window.addEventListener("pageshow", ({ persisted }) => persisted && lookedAt());
ready();
if (document.body.dataset.kept) withoutLink(document.body.dataset.kept);
else {
  if (waiting.all().length) void send();
  const list = /** @type {HTMLElement | null} */ (document.querySelector("[data-worker]"));
  if (list) window.addEventListener("load", () => void keepPage(String(list.dataset.worker), versionOf(import.meta.url), kept));
}

/** Whether the page opens without a link is said where one ticks. @param {boolean} isKept */
function kept(isKept) {
  keptWords = isKept
    ? "Kept on this device: the page opens without a link too, and ticks wait until there is one."
    : "Leave the page open at the bench: without a link it cannot be opened again, but ticks wait until there is one.";
  sayKept();
}

function sayKept() {
  const words = document.querySelector("[data-kept-words]");
  if (words) words.textContent = keptWords;
}

/** The page that was kept, as there is no link: it says so until there is one. @param {string} when */
function withoutLink(when) {
  if (waiting.all().length) return void send();
  const time = new Date(when).toLocaleString("en", { weekday: "long", hour: "2-digit", minute: "2-digit", hour12: false });
  say(`Not connected. This is the list as of ${time}. Your ticks wait here.`, true);
  window.setTimeout(() => void again(when), AGAIN_MS);
}

/** Ask whether there is a link again. @param {string} when */
async function again(when) {
  try {
    await fetch(here(), { method: "HEAD" });
  } catch {
    return withoutLink(when);
  }
  await swap.open(here());
  say("Connected again.");
}

/** After each answer: ticks that wait are shown over what the server knew. */
function ready() {
  unfold(document.body);
  workOut();
  document.querySelector("main")?.classList.add("is-live");
  sayKept();
  for (const [address, { done }] of waiting.all()) {
    const box = document.querySelector(`[data-tick="${CSS.escape(address)}"]`);
    if (box instanceof HTMLInputElement) box.checked = done;
  }
}

/** @param {Event} event */
function ticked(event) {
  const box = event.target;
  if (!(box instanceof HTMLInputElement) || !box.dataset.tick) return;
  const made = box.form?.elements.namedItem(`made-${box.name.replace("cut-", "")}`);
  waiting.put(box.dataset.tick, { done: box.checked, made: made instanceof HTMLInputElement ? made.value : "" });
  void send();
}

/** One after the other, until none waits; then the list is brought up to date. */
async function send() {
  if (sending) return;
  sending = true;
  let kept = 0;
  try {
    for (const [address, tick] of waiting.all()) {
      const body = new URLSearchParams({ done: tick.done ? "yes" : "no", made: tick.made });
      const answer = await fetch(address, { method: "POST", body });
      if (!answer.ok && answer.status !== 404) throw new TypeError(answer.statusText); // 404: the wire is gone
      waiting.sent(address, tick);
      kept += 1;
    }
    if (kept) {
      await swap.open(here(), "", (page) => afterTicks(page, kept));
      say("Kept.");
    }
  } catch (error) {
    if (!(error instanceof TypeError)) throw error;
    say("Not connected. Your ticks wait here.", true);
    window.setTimeout(() => void send(), AGAIN_MS);
  } finally {
    sending = false;
  }
  if (kept && waiting.all().length) void send();
}

/** Where nothing but these ticks was saved the rest of the page is still true. @param {Document} page @param {number} kept */
function afterTicks(page, kept) {
  const [before, now] = [revisionOf(document), revisionOf(page)];
  if (!now) return anew();
  if (now - before > kept) return WHOLE;
  for (const field of /** @type {NodeListOf<HTMLInputElement>} */ (document.querySelectorAll("main [name=revision]"))) {
    if (Number(field.value) === before) field.value = String(now);
  }
  return LIST;
}

/** Looked at again the page shows what was changed elsewhere, unless something is typed in it. */
function lookedAt() {
  if (document.visibilityState !== "visible") return;
  if (waiting.all().length) return void send();
  const typed = [...document.querySelectorAll("#assumed-form :is(input, select)")].some(isTyped);
  if (!typed) void swap.open(here(), "", since);
}

/** What is brought in when only somebody else can have changed something. @param {Document} page */
function since(page) {
  const now = revisionOf(page);
  if (!now && revisionOf(document)) return anew();
  return now === revisionOf(document) ? [] : WHOLE;
}

/** Without a cut list it is another page, which says that wires are being laid, or that there are none. */
function anew() {
  location.reload();
  return [];
}

/** @param {Element} field */
function isTyped(field) {
  if (field instanceof HTMLSelectElement) return [...field.options].some((one) => one.selected !== one.defaultSelected);
  return field instanceof HTMLInputElement && (field.value !== field.defaultValue || field.checked !== field.defaultChecked);
}

function here() {
  return location.href.replace(/#.*$/, "");
}

/** The revision that a page shows. @param {Document} page */
function revisionOf(page) {
  return Number(/** @type {HTMLInputElement | null} */ (page.querySelector("#cut-form [name=revision]"))?.value ?? 0);
}

/** A figure opens below its wire and keeps the focus; what leads far off takes it along. @param {MouseEvent} event */
function clicked(event) {
  if (event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
  const target = event.target instanceof Element ? event.target : null;
  const jump = target?.closest(".wir-jumps a");
  if (jump instanceof HTMLAnchorElement) document.getElementById(jump.hash.slice(1))?.setAttribute("open", "");
  const link = target?.closest("a[data-show]");
  if (!(link instanceof HTMLAnchorElement)) return;
  event.preventDefault();
  const url = new URL(link.href);
  if (!("far" in link.dataset)) url.hash = "";
  void swap.open(url.href, link.dataset.then ?? link.id);
}

/** @param {string} words @param {boolean} [waits] whether something is not saved yet: then it stays in sight */
function say(words, waits = false) {
  const status = document.querySelector("[data-status]");
  if (!status) return;
  status.textContent = words;
  status.classList.toggle("is-waiting", waits);
}
