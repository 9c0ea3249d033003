import { followRows } from "../parts/form_rows.js";

const FIND_AFTER_MS = 200;

const search = document.querySelector("[data-search]");
if (search instanceof HTMLFormElement) followSearch(search);
const settings = document.getElementById("settings");
if (settings instanceof HTMLFormElement) followSettings(settings);
document.querySelector(".modules-list .is-chosen")?.scrollIntoView({ block: "nearest" });
const wrong = document.querySelector("[data-summary]");
if (wrong instanceof HTMLElement) wrong.focus();

/** The shelf narrows while the words are typed. @param {HTMLFormElement} form */
function followSearch(form) {
  let timer = 0;
  let asked = new AbortController();
  const later = () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      asked.abort();
      asked = new AbortController();
      void find(form, asked.signal);
    }, FIND_AFTER_MS);
  };
  form.addEventListener("input", later);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    later();
  });
}

/** @param {HTMLFormElement} form @param {AbortSignal} signal */
async function find(form, signal) {
  const url = new URL(form.action);
  for (const [name, value] of new FormData(form)) url.searchParams.set(name, String(value));
  try {
    const answer = await fetch(url, { signal });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const shelf = document.getElementById("shelf");
    const found = page.getElementById("shelf");
    if (shelf && found) shelf.replaceChildren(...document.importNode(found, true).childNodes);
    history.replaceState(null, "", url);
  } catch (error) {
    if (!(error instanceof DOMException) && !(error instanceof TypeError)) throw error;
  }
}

/** Only the fields that matter are shown. @param {HTMLFormElement} form */
function followSettings(form) {
  followRows(form);
  const show = () => {
    const where = form.elements.namedItem("where");
    const exit = form.elements.namedItem("exit");
    const point = form.elements.namedItem("exit_at");
    const away = form.querySelector("[data-away]");
    if (where instanceof HTMLSelectElement && away instanceof HTMLElement) {
      away.hidden = where.value !== "away";
    }
    if (exit instanceof HTMLSelectElement && point instanceof HTMLInputElement) {
      const row = point.closest(".field");
      if (row instanceof HTMLElement) row.hidden = exit.value !== "point";
    }
  };
  form.addEventListener("change", show);
  show();
}
