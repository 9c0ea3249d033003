/**
 * Names and printed marks of a drawing's modules, set so that they can be read at its zoom. All is
 * worked out from the elements' own figures and the widths of words: nothing is read that would
 * make the browser lay the drawing out.
 */
import { boxOf, groundOf, holds, linesOf, meet, meetsDisc, placeOf, shifted, signsOf } from "./drawn_ground.js";
import { placeMarks, wantedBy } from "./mark_fit.js";
import { besides, LINE_PX, setInRooms, TIGHT } from "./name_fit.js";
import { isClearOf, linesOver, near } from "./lines_over.js";

/** @typedef {import("./drawn_ground.js").Box} Box */

const SMALL_PX = 1.5; // under this many pixels a mm, marks and heights are left out
const TERMINAL_MM = 1.55; // radius of a terminal's circle
const OFF_MARKS = 2; // pixels, from a name's line to a printed mark
const ALL_WAYS = 12; // on one to three lines, lying and turned, with its height and without
const EDGE = 5; // pixels, from a name beside its module to the plate's edge
const APART = 3; // from it to other names and modules, where there is room; from names of the other face to all
const canvas = document.createElement("canvas").getContext("2d");

/**
 * Names of modules first, then marks; names of the other face's modules take what is left.
 * @param {SVGSVGElement} svg @param {number} pixel size of one in mm
 * @returns {{names: Box[], marks: Box[]}} where they stand, pixels
 */
export function setNames(svg, pixel) {
  const isSmall = 1 / pixel < SMALL_PX;
  svg.classList.toggle("is-small", isSmall);
  const groups = [...svg.querySelectorAll("g.name[data-name]")];
  const own = groups.filter((group) => group.parentElement.matches(".module"));
  const fontOf = fonts();
  const over = linesOver(svg, pixel, fontOf);
  const found = new Map(own.map((group) => [group, settingOf(group, pixel, isSmall, fontOf, { over })]));
  const crowded = own.filter((group) => !found.get(group));
  if (crowded.length && svg.querySelector("g.plate")) {
    const free = freeOf(svg, pixel);
    setBesides(crowded, found, pixel, fontOf, { ...free, boxes: [...free.boxes, ...over.boxes], over });
  }
  const modules = isSmall ? [] : [...svg.querySelectorAll("g.module")];
  const spots = modules.flatMap((module) => marksOf(module, pixel, fontOf, found));
  const marks = spots.flatMap(([{ parentElement }, spot]) => (spot ? [shifted(spot.box, shiftOf(parentElement, pixel))] : []));
  const names = [...found].flatMap(([group, setting]) => standing(group, setting, pixel));
  for (const group of groups.filter((one) => !found.has(one))) {
    const setting = settingOf(group, pixel, isSmall, fontOf, { taken: [...names, ...marks, ...over.boxes] });
    found.set(group, setting);
    names.push(...standing(group, setting, pixel));
  }
  for (const [group, setting] of found) setLines(group, setting, pixel);
  for (const [mark, spot] of spots) setMark(mark, spot);
  return { names, marks };
}

/** Where the lines of a name stand in the drawing. @param {Element} group @returns {Box[]} */
function standing(group, setting, pixel) {
  return (setting?.boxes ?? []).map((box) => shifted(box, shiftOf(group.parentElement, pixel)));
}

/** How far a group is shifted in the drawing. @param {Element} group @param {number} pixel */
function shiftOf(group, pixel) {
  return group.hasAttribute("transform") ? placeOf(group, pixel) : { x: 0, y: 0 };
}

/** The width of words in a font, measured once each. @param {string} font */
function measuring(font) {
  const known = new Map();
  return (/** @type {string} */ words) => {
    if (!known.has(words)) {
      canvas.font = font;
      known.set(words, canvas.measureText(words).width);
    }
    return known.get(words);
  };
}

/** The width of words in a text's lettering, and its size, both in pixels; asked once for each lettering. */
function fonts() {
  const known = new Map();
  return (/** @type {Element} */ text) => {
    const [lettering] = text.classList;
    if (!known.has(lettering)) {
      const { fontWeight, fontSize, fontFamily } = getComputedStyle(text);
      const size = parseFloat(fontSize) / (text.closest(".is-tight") ? TIGHT : 1);
      const font = `${fontWeight} ${size}px ${fontFamily}`; // the shorthand is empty beside font-variant
      known.set(lettering, { size, widthOf: measuring(font) });
    }
    return known.get(lettering);
  };
}

/**
 * How a module's name fits into it: clear of what is drawn over it and of where its marks want to
 * stand, where that can be.
 * @param {Element} group @param {number} pixel @param {boolean} isSmall
 * @param {{taken?: Box[], over?: import("./lines_over.js").Over}} others where they stand in the drawing
 */
function settingOf(group, pixel, isSmall, fontOf, { taken = [], over }) {
  const { name, height, rooms } = group.dataset;
  const text = group.querySelector("text");
  const sizes = text.classList.contains("lettering-name") ? [1, TIGHT] : [1];
  const signs = signsOf(group.parentElement, pixel);
  const place = shiftOf(group.parentElement, pixel);
  const isFree = (/** @type {Box} */ box) => !signs.some((sign) => meet(box, sign)) && !taken.some((other) => meet(grown(shifted(box, place), APART), other));
  const places = rooms.split(",").map((room) => boxOf(room, pixel));
  const set = (/** @type {(box: Box) => boolean} */ isMeant, most = 1) => setInRooms(name, isSmall ? "" : height, places, sizes, fontOf(text).widthOf, isMeant, most);
  const any = set(isFree);
  if (!any || !over) return any;
  const { box } = group.parentElement.dataset;
  const lines = box ? near(over, shifted(boxOf(box, pixel), place)) : over;
  const wanted = isSmall ? [] : marksOn(group.parentElement, pixel, fontOf).map((mark) => wantedBy(mark, TERMINAL_MM / pixel));
  const isUncrossed = (/** @type {Box} */ box) => isFree(box) && isClearOf(lines, shifted(box, place));
  const isClear = (/** @type {Box} */ box) => isUncrossed(box) && !wanted.some((mark) => meet(grown(box, OFF_MARKS), mark));
  if (any.boxes.every(isClear)) return any;
  return set(isClear, ALL_WAYS) ?? set(isUncrossed, ALL_WAYS) ?? any;
}

/** Names that find no room in their modules stand beside them, those with the fewest free sides first. */
function setBesides(groups, found, pixel, fontOf, ground) {
  const isFree = (/** @type {Box} */ box) => {
    const { plate, boxes, discs } = ground;
    return holds(plate, grown(box, EDGE)) && !boxes.some((other) => meet(box, other)) && !discs.some((disc) => meetsDisc(box, disc));
  };
  const freeSides = (/** @type {Element} */ group) => {
    const module = group.parentElement;
    const place = placeOf(module, pixel);
    const sides = besides(group.dataset.name, boxOf(module.dataset.box, pixel), fontOf(group.querySelector("text")).widthOf);
    const free = (/** @type {number} */ apart) => sides.filter(({ boxes }) => boxes.every((box) => isFree(grown(shifted(box, place), apart))));
    const clear = free(APART);
    const uncrossed = clear.filter(({ boxes }) => boxes.every((box) => isClearOf(ground.over, shifted(box, place))));
    return [uncrossed, clear].find((found) => found.length) ?? free(0);
  };
  const counted = groups.map((group) => ({ group, count: freeSides(group).length })).sort((a, b) => a.count - b.count);
  for (const { group } of counted) {
    const [setting] = freeSides(group);
    if (!setting) continue;
    found.set(group, setting);
    ground.boxes.push(...setting.boxes.map((box) => shifted(box, placeOf(group.parentElement, pixel))));
  }
}

/** The ground that a name keeps marks off: its lines, a little longer. @param {import("./name_fit.js").Setting} setting */
function kept({ boxes, turned }) {
  const [dx, dy] = turned ? [0, OFF_MARKS] : [OFF_MARKS, 0];
  return boxes.map(({ left, right, top, bottom }) => ({ left: left - dx, right: right + dx, top: top - dy, bottom: bottom + dy }));
}

/** @param {Box} box @param {number} by */
function grown({ left, right, top, bottom }, by) {
  return { left: left - by, right: right + by, top: top - by, bottom: bottom + by };
}

/** What takes the plate's ground: modules, and its own holes. */
function freeOf(svg, pixel) {
  const modules = [...svg.querySelectorAll("g.module")];
  return {
    plate: linesOf(svg.querySelector("g.plate .pen-edge"), pixel),
    discs: groundOf(svg.querySelector("g.plate_holes"), pixel).discs,
    boxes: modules.map((module) => shifted(boxOf(module.dataset.box, pixel), placeOf(module, pixel))),
  };
}

/** Every mark of a module, with its size and where its terminal is. @param {Element} module @param {number} pixel */
function marksOn(module, pixel, fontOf) {
  return [...module.querySelectorAll(":scope > g.terminal_mark")].map((group) => {
    const text = group.querySelector("text");
    const { size, widthOf } = fontOf(text);
    const { x, y } = placeOf(group, pixel);
    return { group, x, y, inward: group.dataset.inward, width: widthOf(text.textContent), height: size * 1.2 };
  });
}

/** Every mark of a module with its spot. @param {Element} module @param {number} pixel */
function marksOf(module, pixel, fontOf, found) {
  const marks = marksOn(module, pixel, fontOf);
  if (!marks.length) return [];
  const name = found.get(module.querySelector(":scope > g.name"));
  const ground = groundOf(module, pixel);
  const spots = placeMarks(marks, TERMINAL_MM / pixel, { ...ground, boxes: [...ground.boxes, ...(name ? kept(name) : [])] });
  return marks.map(({ group, x, y }, n) => [group, spots[n] && { ...spots[n], x, y }]);
}

/** @param {Element} group */
function setMark(group, spot) {
  const text = group.querySelector("text");
  text.setAttribute("display", spot ? "inline" : "none");
  if (!spot) return;
  const { box, turned, x, y } = spot;
  text.setAttribute("text-anchor", "middle");
  text.setAttribute("x", "0");
  text.setAttribute("y", "0");
  text.setAttribute("transform", `translate(${(box.left + box.right) / 2 - x} ${(box.top + box.bottom) / 2 - y})${turned ? " rotate(-90)" : ""}`);
}

/** @param {SVGGElement} group @param {import("./name_fit.js").Setting | null} setting @param {number} pixel */
function setLines(group, setting, pixel) {
  group.classList.toggle("does-not-fit", !setting);
  if (!setting) return;
  group.classList.toggle("is-tight", setting.size < 1);
  group.setAttribute("transform", `translate(${setting.x * pixel} ${-setting.y * pixel})`);
  const [name, height] = group.querySelectorAll("text");
  const rows = setting.lines.length + (setting.height ? 1 : 0);
  const line = LINE_PX * setting.size;
  const turn = setting.turned ? "rotate(-90)" : "";
  for (const text of [name, height]) text.setAttribute("transform", turn);
  for (const text of [name, height]) text.setAttribute("y", "0");
  name.replaceChildren(...setting.lines.map((words, row) => lineOf(words, (row - (rows - 1) / 2) * line)));
  height.toggleAttribute("hidden", !setting.height);
  height.setAttribute("display", setting.height ? "inline" : "none");
  height.setAttribute("y", String(((rows - 1) / 2) * line));
}

function lineOf(words, y) {
  const line = document.createElementNS("http://www.w3.org/2000/svg", "tspan");
  line.setAttribute("x", "0");
  line.setAttribute("y", String(y));
  line.setAttribute("dy", ".35em");
  line.textContent = words;
  return line;
}
