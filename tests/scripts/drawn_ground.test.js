import { equal, near, ok, test } from "./check.js";
import { boxOf, groundOf, meetsDisc, meetsStroke, within } from "/static/lib/drawn_ground.js";

const box = { left: 0, right: 10, top: 0, bottom: 6 };

/** A module's group with an outline of 20 x 10 mm, a hole and a sign. */
function module() {
  const holder = document.createElement("div");
  holder.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg"><g class="module"><path class="focus-ring" d="M0 0L9 9Z"/>
    <path class="pen-outline" d="M0 0L20 0C20 3 20 6 20 10L0 10Z"/><circle cx="5" cy="4" r="2"/>
    <g class="mark" transform="translate(10 10)"><g class="px"><path d="M-4 0H4"/></g></g></g></svg>`;
  return holder.querySelector(".module");
}

test("what is drawn is read in pixels, y down, without signs and focus rings", () => {
  const ground = groundOf(module(), 0.5);
  equal(ground.outline, [[0, 0], [40, 0], [40, -20], [0, -20], [0, 0]]);
  equal(ground.discs, [{ x: 10, y: -8, r: 4 }]);
  equal(ground.strokes, [[0, 0, 40, 0], [40, 0, 40, -20], [40, -20, 0, -20], [0, -20, 0, 0]]);
  equal(ground.boxes.length, 1);
  near((ground.boxes[0].left + ground.boxes[0].right) / 2, 20);
});

test("a box in mm, y up, becomes one in pixels, y down", () => {
  equal(boxOf("1 2 3 5", 0.5), { left: 2, right: 6, top: -10, bottom: -4 });
});

test("a stroke meets a box when any of it lies inside", () => {
  ok(meetsStroke(box, [-5, 3, 20, 3]), "through it");
  ok(meetsStroke(box, [2, 2, 4, 4]), "within it");
  ok(meetsStroke(box, [-2, 4, 4, -2]), "over a corner");
  ok(!meetsStroke(box, [-5, 3, -1, 3]), "short of it");
  ok(!meetsStroke(box, [-4, 2, 2, -4]), "past a corner");
  ok(!meetsStroke(box, [-5, 0, 20, 0]), "along its edge");
});

test("a disc meets a box by its distance, also at a corner", () => {
  ok(meetsDisc(box, { x: 13, y: 3, r: 3.1 }));
  ok(!meetsDisc(box, { x: 13, y: 9, r: 4.2 })); // the corner is 4.24 away
  ok(meetsDisc(box, { x: 13, y: 9, r: 4.3 }));
});

test("within a ring, and in the notch of an L outside", () => {
  const ring = [[0, 0], [10, 0], [10, 10], [5, 10], [5, 5], [0, 5]];
  ok(within(ring, 8, 8));
  ok(!within(ring, 2, 8));
});
