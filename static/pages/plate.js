import { startForm } from "../parts/form_page.js";
import { SizeHandles } from "../parts/size_handles.js";

const page = startForm("plate", [["outline_form", "form"]]);
if (page) dragEdges(page);

/** Its edges are dragged as well as typed. @param {NonNullable<ReturnType<typeof startForm>>} page */
function dragEdges({ form, sheet, live }) {
  const handles = new SizeHandles(sheet, (size, done) => {
    typeLength(form, "width", size.width);
    typeLength(form, "height", size.height);
    if (done) void live.save();
  });
  live.holdsStill = () => handles.drag !== null;
}

/** Type a length in mm; a field in inches gets the unit behind it. @param {HTMLFormElement} form @param {string} name @param {number} mm */
function typeLength(form, name, mm) {
  const field = form.elements.namedItem(name);
  if (!(field instanceof HTMLInputElement)) return;
  const unit = field.closest("[data-field]")?.querySelector("[data-unit]")?.textContent;
  field.value = unit === "in" ? `${mm} mm` : String(mm);
}
