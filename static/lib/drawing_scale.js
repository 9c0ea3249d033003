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

/** Bring lettering, signs and hatchings of one drawing to their size. Returns mm a pixel. */
export function scaleLettering(/** @type {SVGSVGElement} */ svg) {
  const size = pixelSize(svg);
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

/** Keep every drawing under `root` scaled, also those that come later. */
export function keepLettering(/** @type {HTMLElement} */ root) {
  const sizes = new ResizeObserver((entries) => {
    const drawings = entries.map((entry) => /** @type {SVGSVGElement} */ (entry.target));
    drawings.filter((svg) => scaled.get(svg) !== pixelSize(svg)).forEach((svg) => scaleLettering(svg));
  });
  const watch = () => {
    for (const svg of root.querySelectorAll("svg.drawing:not([data-watched])")) {
      svg.setAttribute("data-watched", "");
      sizes.observe(svg);
    }
  };
  watch();
  // widths of words are known anew then
  document.fonts.addEventListener("loadingdone", () => root.querySelectorAll("svg.drawing").forEach((svg) => scaleLettering(svg)));
  new MutationObserver(watch).observe(root, { childList: true, subtree: true });
}
