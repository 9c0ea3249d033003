// What waits for the routes of the wires, marked with data-judge, is brought in once all is known:
// the stop marks of the bar, and the section with the id in data-judge.

const AFTER_MS = 700; // who makes one change after the other asks once

const isLayout = document.querySelector("[data-desk]") !== null; // it asks in its own way
let timer = 0;

/** Ask, a while after the last change, for what is not known yet. */
function later() {
  const waiting = document.querySelector("[data-judge]");
  if (!waiting || timer) return;
  timer = window.setTimeout(() => void bring(String(waiting.getAttribute("data-judge"))), AFTER_MS);
}

/** @param {string} url answered when all is known */
async function bring(url) {
  const known = await fetch(url).catch(() => null);
  const answer = known?.ok ? await fetch(location.href).catch(() => null) : null;
  timer = 0;
  if (!answer?.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const held = document.activeElement?.id ?? "";
  for (const old of [...document.querySelectorAll("[data-judge]")]) {
    const fresh = page.getElementById(old.id);
    if (fresh) old.replaceWith(document.importNode(fresh, true));
    else old.remove();
  }
  if (held && document.activeElement === document.body) document.getElementById(held)?.focus({ preventScroll: true });
}

if (!isLayout) {
  new MutationObserver(later).observe(document.body, { childList: true, subtree: true });
  later();
}
