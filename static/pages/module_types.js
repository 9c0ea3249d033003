import { keepLettering } from "../lib/drawing_scale.js";
import { followRows } from "../parts/form_rows.js";

const DRAW_AFTER_MS = 250;

const form = document.getElementById("measure");
if (form instanceof HTMLFormElement) start(form);

/** @param {HTMLFormElement} form */
function start(form) {
  followRows(form);
  keepLettering(form);
  followDrawing(form);
  form.addEventListener("focusin", light);
  form.addEventListener("change", sayBasis);
  const wrong = form.querySelector("[data-summary]");
  if (wrong instanceof HTMLElement) wrong.focus();
}

/** @param {HTMLFormElement} form */
function followDrawing(form) {
  let timer = 0;
  let asked = new AbortController();
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      asked.abort();
      asked = new AbortController();
      void redraw(form, asked.signal);
    }, DRAW_AFTER_MS);
  });
}

/** @param {HTMLFormElement} form @param {AbortSignal} signal */
async function redraw(form, signal) {
  const place = document.getElementById("module-drawing");
  const url = form.dataset.drawing;
  if (!place || !url) return;
  try {
    const answer = await fetch(url, { method: "POST", body: new FormData(form), signal });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    place.replaceChildren(...document.importNode(page.body, true).childNodes);
    light();
  } catch (error) {
    if (!(error instanceof DOMException) && !(error instanceof TypeError)) throw error;
  }
}

/** Light the dimension that belongs to the field in hand, and only that one. */
function light() {
  const field = document.activeElement instanceof HTMLElement ? document.activeElement : null;
  const key = field?.dataset.dimension ?? "";
  for (const dimension of document.querySelectorAll("#module-drawing [data-key]")) {
    dimension.classList.toggle("is-lit", dimension.getAttribute("data-key") === key);
  }
}

/** @param {Event} event */
function sayBasis(event) {
  const field = event.target;
  if (!(field instanceof HTMLSelectElement)) return;
  for (const mark of document.querySelectorAll(`[data-basis-of="${field.id}"]`)) {
    mark.textContent = field.selectedOptions[0]?.textContent ?? "";
    mark.classList.toggle("is-guess", field.value === "guess");
  }
}
