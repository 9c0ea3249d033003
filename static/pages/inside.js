import { keepLettering } from "../lib/drawing_scale.js";
import { followRows } from "../parts/form_rows.js";
import { LitDimensions } from "../parts/lit_dimensions.js";
import { LiveForm } from "../parts/live_form.js";

const form = document.getElementById("inside-form");
const sheet = document.getElementById("inside-sheet");
if (form instanceof HTMLFormElement && sheet) start(form, sheet);

/** @param {HTMLFormElement} form @param {HTMLElement} sheet */
function start(form, sheet) {
  keepLettering(sheet);
  followRows(form);
  const lit = new LitDimensions(form, sheet);
  const show = () => showWhatMatters(form);
  form.addEventListener("input", show);
  new LiveForm(form, () => {
    show();
    lit.again();
  });
}

/** Only the fields of the chosen shapes are shown. @param {HTMLFormElement} form */
function showWhatMatters(form) {
  for (const [name, marker] of [["shape", "shape"], ["opening_shape", "opening"], ["opening_in", "side"]]) {
    const chosen = form.elements.namedItem(name);
    if (!(chosen instanceof HTMLSelectElement)) continue;
    for (const part of form.querySelectorAll(`[data-${marker}]`)) {
      const shapes = (part.getAttribute(`data-${marker}`) ?? "").split(" ");
      if (part instanceof HTMLElement) part.hidden = !shapes.includes(chosen.value);
    }
  }
}
