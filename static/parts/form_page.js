/** What pages that are one form beside its drawings share. */

import { keepLettering } from "../lib/drawing_scale.js";
import { followRows } from "./form_rows.js";
import { LitDimensions } from "./lit_dimensions.js";
import { LiveForm } from "./live_form.js";

/**
 * Let the drawings follow the form, and show the parts of it that its choices ask for.
 *
 * @param {string} page its name
 * @param {[string, string][]} choices name of a choice, and of the mark of the parts that say for which they are shown
 * @returns {{form: HTMLFormElement, sheet: HTMLElement, live: LiveForm} | null}
 */
export function startForm(page, choices) {
  const form = document.getElementById(`${page}-form`);
  const sheet = document.getElementById(`${page}-sheet`);
  if (!(form instanceof HTMLFormElement) || !sheet) return null;
  keepLettering(sheet);
  followRows(form);
  const lit = new LitDimensions(form, sheet);
  const show = () => choices.forEach(([name, mark]) => showChosen(form, name, mark));
  form.addEventListener("input", show);
  const live = new LiveForm(form, () => {
    show();
    lit.again();
  });
  return { form, sheet, live };
}

/** @param {HTMLFormElement} form @param {string} name @param {string} mark */
function showChosen(form, name, mark) {
  const chosen = form.elements.namedItem(name);
  if (!(chosen instanceof HTMLSelectElement)) return;
  for (const part of form.querySelectorAll(`[data-${mark}]`)) {
    const meant = (part.getAttribute(`data-${mark}`) ?? "").split(" ");
    if (part instanceof HTMLElement) part.hidden = !meant.includes(chosen.value);
  }
}
