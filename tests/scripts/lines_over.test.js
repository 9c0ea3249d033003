import { equal, test } from "./check.js";
import { isClearOf, linesOver, near } from "/static/lib/lines_over.js";

const PIXEL = 0.5; // mm
const fontOf = () => ({ size: 10, widthOf: (words) => words.length * 6 });

/** A board with one hole of the other face at 10, 20 mm and an aerial of 15 mm at 40, 20 mm. */
function board() {
  const holder = document.createElement("div");
  holder.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg">
    <g class="other_face"><g class="behind_module" transform="translate(4 5)"><path d="M0 0L30 0"/><circle cx="6" cy="15" r="2"/></g></g>
    <g class="aerials"><g class="aerial" transform="translate(40 20)"><circle cx="0" cy="0" r="15"/>
      <g transform="translate(0 15)"><g class="px" transform="scale(.5)"><text>30 free</text></g></g></g></g></svg>`;
  return linesOver(holder.firstElementChild, PIXEL, fontOf);
}

const box = (left, top, right, bottom) => ({ left, top, right, bottom });

test("holes, lines, circles and figures stand where the board draws them, in pixels, y down", () => {
  const { discs, strokes, rings, boxes } = board();
  equal(discs, [{ x: 20, y: -40, r: 5 }]); // and one pixel round the hole
  equal(strokes, [[8, -10, 68, -10]]);
  equal(rings, [{ x: 80, y: -40, r: 30 }]);
  equal(boxes, [box(59, -76, 101, -64)]);
});

test("runs beneath modules are lines over them, those of the other face are not", () => {
  const holder = document.createElement("div");
  holder.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg"><g class="runs_beneath"><path d="M0 10L30 10M5 0L5 5"/></g>
    <g class="runs_beneath far"><path d="M0 0L9 9"/></g></svg>`;
  equal(linesOver(holder.firstElementChild, PIXEL, fontOf).strokes, [[0, -20, 60, -20], [10, -0, 10, -10]]);
});

test("a box is crossed by a hole, a line, a circle's line and a figure, not by a circle's inside", () => {
  const over = board();
  equal(isClearOf(over, box(14, -44, 16, -36)), false);
  equal(isClearOf(over, box(30, -12, 40, -8)), false);
  equal(isClearOf(over, box(45, -45, 55, -35)), false);
  equal(isClearOf(over, box(60, -66, 62, -65)), false);
  equal(isClearOf(over, box(70, -50, 90, -30)), true);
});

test("of what is far from a box nothing is kept", () => {
  equal(near(board(), box(200, 200, 210, 210)), { discs: [], strokes: [], rings: [], boxes: [] });
  equal(near(board(), box(0, -20, 100, 0)).strokes.length, 1);
});
