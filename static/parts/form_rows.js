/**
 * Rows of a form that can be added and taken away without leaving the page.
 * Without this script the same buttons send the form, and the server answers with it changed.
 */

/** @param {HTMLFormElement} form */
export function followRows(form) {
  form.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (!(button instanceof HTMLButtonElement)) return;
    if (button.matches("[data-drop]")) {
      event.preventDefault();
      drop(form, button);
    } else if (button.matches("[data-more]")) {
      event.preventDefault();
      void more(form, button);
    }
  });
}

/** @param {HTMLFormElement} form @param {HTMLButtonElement} button */
function drop(form, button) {
  const row = button.closest("[data-row]");
  const group = button.closest("[data-rows]");
  if (!row || !group) return;
  const neighbour = row.nextElementSibling ?? row.previousElementSibling;
  const next = neighbour?.querySelector("[data-drop]") ?? group.querySelector("[data-more]");
  row.remove();
  count(group);
  if (next instanceof HTMLElement) next.focus();
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

/** @param {HTMLFormElement} form @param {HTMLButtonElement} button */
async function more(form, button) {
  const group = button.closest("[data-rows]");
  const fresh = await newRow(form, button).catch(() => null);
  const list = group?.querySelector("ol");
  if (!fresh || !group || !list) {
    button.removeAttribute("data-more");
    form.requestSubmit(button);
    return;
  }
  list.append(fresh);
  count(group);
  const first = fresh.querySelector("input:not([type=hidden]), select");
  if (first instanceof HTMLElement) first.focus();
}

/**
 * The row that the server makes, so that a row is written in one place only.
 * @param {HTMLFormElement} form @param {HTMLButtonElement} button
 */
async function newRow(form, button) {
  const body = new FormData(form, button);
  const answer = await fetch(form.action, { method: "POST", body });
  if (!answer.ok) return null;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const rows = page.querySelectorAll(`[data-rows="${button.value}"] [data-row]`);
  const last = rows[rows.length - 1];
  return last ? document.importNode(last, true) : null;
}

/** @param {Element} group */
function count(group) {
  const figure = group.querySelector("[data-count]");
  if (figure) figure.textContent = String(group.querySelectorAll("[data-row]").length);
}
