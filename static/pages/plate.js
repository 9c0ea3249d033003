import { keepLettering } from "../lib/drawing_scale.js";
import { followRows } from "../parts/form_rows.js";
import { LitDimensions } from "../parts/lit_dimensions.js";
import { LiveForm } from "../parts/live_form.js";
import { SizeHandles } from "../parts/size_handles.js";

const form = document.getElementById("plate-form");
const sheet = document.getElementById("plate-sheet");
if (form instanceof HTMLFormElement && sheet) start(form, sheet);

/** @param {HTMLFormElement} form @param {HTMLElement} sheet */
function start(form, sheet) {
  keepLettering(sheet);
  followRows(form);
  const lit = new LitDimensions(form, sheet);
  const live = new LiveForm(form, () => {
    showForm(form);
    lit.again();
  });
  form.addEventListener("input", () => showForm(form));
  const handles = new SizeHandles(sheet, (size, done) => {
    typeLength(form, "width", size.width);
    typeLength(form, "height", size.height);
    if (done) void live.save();
  });
  live.holdsStill = () => handles.drag !== null;
}

/** @param {HTMLFormElement} form */
function showForm(form) {
  const chosen = form.elements.namedItem("outline_form");
  if (!(chosen instanceof HTMLSelectElement)) return;
  for (const part of form.querySelectorAll("[data-form]")) {
    if (part instanceof HTMLElement) part.hidden = part.dataset.form !== chosen.value;
  }
}

/** Type a length in mm; a field in inches gets the unit behind it. @param {HTMLFormElement} form @param {string} name @param {number} mm */
function typeLength(form, name, mm) {
  const field = form.elements.namedItem(name);
  if (!(field instanceof HTMLInputElement)) return;
  const unit = field.closest("[data-field]")?.querySelector("[data-unit]")?.textContent;
  field.value = unit === "in" ? `${mm} mm` : String(mm);
}
