/** Names and printed marks of a drawing's modules, set so that they can be read at its zoom. */
import { clearOnes, setName } from "./name_fit.js";

const SMALL_PX = 1.5; // under this many pixels a mm, marks and heights are left out
const LINE_PX = 15;
const canvas = document.createElement("canvas").getContext("2d");

/**
 * All is read before anything is written, and written before it is read again: a reading after a
 * writing lays out the whole drawing.
 * @param {SVGSVGElement} svg @param {number} pixel size of one in mm
 */
export function setNames(svg, pixel) {
  const isSmall = 1 / pixel < SMALL_PX;
  svg.classList.toggle("is-small", isSmall);
  const names = [...svg.querySelectorAll("g.name[data-name]")];
  const settings = names.map((name) => settingOf(name, pixel, isSmall));
  names.forEach((name, row) => setLines(name, settings[row]));
  clearMarks([...svg.querySelectorAll("g.module")]);
}

/** How a module's name fits. @param {SVGGElement} group @param {number} pixel @param {boolean} isSmall */
function settingOf(group, pixel, isSmall) {
  const { name, height, width, depth, most } = group.dataset;
  const { fontWeight, fontSize, fontFamily } = getComputedStyle(group.querySelector("text"));
  canvas.font = `${fontWeight} ${fontSize} ${fontFamily}`; // the shorthand is empty beside font-variant
  const measure = (/** @type {string} */ words) => canvas.measureText(words).width;
  const words = isSmall ? "" : height;
  const [wide, deep] = most.split(" ").map(Number);
  return setName(name, words, Number(width) / pixel, Number(depth) / pixel, measure)
    ?? setName(name, "", wide / pixel - 8, deep / pixel - 6, measure);
}

/**
 * Printed marks that would run into their module's name or into each other are left out at this zoom.
 * @param {Element[]} modules
 */
function clearMarks(modules) {
  const all = modules.map((module) => [...module.querySelectorAll("text.lettering-mark")]);
  for (const mark of all.flat()) mark.removeAttribute("display");
  const clear = modules.map((module, row) => clearOf(module, all[row]));
  all.forEach((marks, row) => marks.forEach((mark, n) => clear[row][n] || mark.setAttribute("display", "none")));
}

/** Which marks of a module stay. @param {Element} module @param {Element[]} marks */
function clearOf(module, marks) {
  const names = marks.length ? [...module.querySelectorAll("g.name:not(.does-not-fit) text:not([display=none])")] : [];
  const boxes = [...names, ...marks].map((text) => {
    const { left, right, top, bottom } = text.getBoundingClientRect();
    return { left, right, bottom: top + 1, top: bottom - 1 };
  });
  return clearOnes(boxes).slice(names.length);
}

/** @param {SVGGElement} group @param {import("./name_fit.js").Setting | null} setting */
function setLines(group, setting) {
  group.classList.toggle("does-not-fit", !setting);
  if (!setting) return;
  const [name, height] = group.querySelectorAll("text");
  const rows = setting.lines.length + (setting.height ? 1 : 0);
  const turn = setting.turned ? "rotate(-90)" : "";
  for (const text of [name, height]) text.setAttribute("transform", turn);
  for (const text of [name, height]) text.setAttribute("y", "0");
  name.replaceChildren(...setting.lines.map((line, row) => lineOf(line, (row - (rows - 1) / 2) * LINE_PX)));
  height.toggleAttribute("hidden", !setting.height);
  height.setAttribute("display", setting.height ? "inline" : "none");
  height.setAttribute("y", String(((rows - 1) / 2) * LINE_PX));
}

function lineOf(words, y) {
  const line = document.createElementNS("http://www.w3.org/2000/svg", "tspan");
  line.setAttribute("x", "0");
  line.setAttribute("y", String(y));
  line.setAttribute("dy", ".35em");
  line.textContent = words;
  return line;
}
