/**
 * Lettering and signs of a drawing keep their size in pixels: the size of one screen pixel in mm
 * is written to the drawing, and to its hatchings, whenever it changes.
 */

import { setNames } from "./drawing_names.js";
import { setFlags } from "./flags.js";

/** Size of one screen pixel in the drawing's millimetres; NaN while it is not shown. */
export function pixelSize(/** @type {SVGSVGElement} */ svg) {
  const matrix = svg.getScreenCTM();
  const isShown = svg.getClientRects().length > 0;
  const scale = matrix && isShown ? Math.hypot(matrix.a, matrix.b) : 0;
  return scale > 0 ? 1 / scale : NaN;
}

const scaled = new WeakMap(); // drawing -> the pixel size that it is set for

/**
 * Bring lettering, signs and hatchings of one drawing to their size.
 * @param {SVGSVGElement} svg @param {number} [size] mm a pixel, where it is measured already
 * @returns {number} mm a pixel
 */
export function scaleLettering(svg, size = pixelSize(svg)) {
  if (Number.isNaN(size)) return size;
  scaled.set(svg, size);
  svg.style.setProperty("--u", size.toFixed(5));
  svg.classList.add("is-scaled");
  for (const hatch of svg.querySelectorAll("pattern.hatch")) {
    hatch.setAttribute("patternTransform", `scale(${size.toFixed(5)}) rotate(${hatch.dataset.turn})`);
  }
  for (const band of svg.querySelectorAll("[data-wide]:not([style])")) {
    /** @type {SVGElement} */ (band).style.setProperty("--w", band.getAttribute("data-wide"));
  }
  setFlags(svg, size, setNames(svg, size));
  return size;
}

/**
 * The same for many drawings. All are measured before the first is written to: the browser lays the
 * page out anew for whatever is measured after a writing.
 * @param {SVGSVGElement[]} drawings @param {(svg: SVGSVGElement, size: number) => boolean} [isMeant]
 */
function scaleAll(drawings, isMeant = () => true) {
  const measured = drawings.map((svg) => /** @type {const} */ ([svg, pixelSize(svg)]));
  for (const [svg, size] of measured) if (isMeant(svg, size)) scaleLettering(svg, size);
}

/** Keep every drawing under `root` scaled, also those that come later. */
export function keepLettering(/** @type {HTMLElement} */ root) {
  const sizes = new ResizeObserver((entries) => {
    const drawings = entries.map((entry) => /** @type {SVGSVGElement} */ (entry.target));
    scaleAll(drawings, (svg, size) => scaled.get(svg) !== size);
  });
  const watch = () => {
    for (const svg of root.querySelectorAll("svg.drawing:not([data-watched])")) {
      svg.setAttribute("data-watched", "");
      sizes.observe(svg);
    }
  };
  watch();
  // widths of words are known anew then; what was not in sight yet is scaled when it comes
  document.fonts.addEventListener("loadingdone", () => {
    const drawings = /** @type {SVGSVGElement[]} */ ([...root.querySelectorAll("svg.drawing")]);
    scaleAll(drawings.filter((svg) => scaled.has(svg)));
  });
  new MutationObserver(watch).observe(root, { childList: true, subtree: true });
}
