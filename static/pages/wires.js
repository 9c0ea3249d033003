import { unfold, unfoldWhenOpened } from "../lib/folded.js";
import { SwapPage } from "../parts/swap_page.js";
import { workOut } from "../parts/worked_out.js";

const AGAIN_MS = 4000;

/** Ticks that the server does not know yet, by the address that takes them. @type {Map<string, boolean>} */
const waiting = new Map();
const swap = new SwapPage(ready);
let sending = false;
document.addEventListener("change", ticked);
document.addEventListener("click", clicked);
window.addEventListener("online", () => void send());
if (matchMedia("(max-width:45rem)").matches && !location.search && !location.hash) {
  for (const fold of document.querySelectorAll(".wir-fold")) fold.removeAttribute("open");
}
unfoldWhenOpened(/** @type {HTMLElement} */ (document.querySelector("main")), () => {});
ready();

/** After each answer: ticks that wait are shown over what the server knew. */
function ready() {
  unfold(document.body);
  workOut();
  document.querySelector("main")?.classList.add("is-live");
  for (const [address, done] of waiting) {
    const box = document.querySelector(`[data-tick="${CSS.escape(address)}"]`);
    if (box instanceof HTMLInputElement) box.checked = done;
  }
}

/** @param {Event} event */
function ticked(event) {
  const box = event.target;
  if (!(box instanceof HTMLInputElement) || !box.dataset.tick) return;
  waiting.set(box.dataset.tick, box.checked);
  void send();
}

/** One after the other, until none waits; then the page is brought up to date. */
async function send() {
  if (sending) return;
  sending = true;
  let kept = 0;
  try {
    for (const [address, done] of waiting) {
      const body = new URLSearchParams({ done: done ? "yes" : "no" });
      const answer = await fetch(address, { method: "POST", body });
      if (!answer.ok && answer.status !== 404) throw new TypeError(answer.statusText); // 404: the wire is gone
      if (waiting.get(address) === done) waiting.delete(address);
      kept += 1;
    }
    if (kept) {
      await swap.open(location.href.replace(/#.*$/, ""));
      say("Kept.");
    }
  } catch (error) {
    if (!(error instanceof TypeError)) throw error;
    say("Not connected. Your ticks wait here.");
    window.setTimeout(() => void send(), AGAIN_MS);
  } finally {
    sending = false;
  }
  if (kept && waiting.size) void send();
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

/** @param {string} words */
function say(words) {
  const status = document.querySelector("[data-status]");
  if (status) status.textContent = words;
}
