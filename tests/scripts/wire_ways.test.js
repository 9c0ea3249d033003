import { equal, test } from "./check.js";
import { bendsOf, middleOf, nearest, rankOf } from "/static/lib/wire_ways.js";

/** Right 100, up 50 on the front, through the plate, left 30 on the back. */
const PATH = [[0, 0, "front"], [100, 0, "front"], [100, 50, "front"], [100, 50, "back"], [70, 50, "back"]];

test("the nearest place lies square on the leg, with its way from the start", () => {
  equal(nearest(PATH, { x: 40, y: 3 }, ["front"]), { x: 40, y: 0, away: 3, face: "front", along: 40 });
  equal(nearest(PATH, { x: 104, y: 20 }, ["front"]), { x: 100, y: 20, away: 4, face: "front", along: 120 });
});

test("beyond an end it is the end", () => {
  equal(nearest(PATH, { x: -3, y: -4 }, ["front"]).away, 5);
});

test("a face that is not shown has no places", () => {
  equal(nearest(PATH, { x: 80, y: 50 }, ["back"]).along, 170);
  equal(nearest(PATH.slice(0, 3), { x: 80, y: 50 }, ["back"]), null);
});

test("a point comes in among those before and behind it", () => {
  const via = [[50, 0, "front"], [100, 40, "front"]];
  equal([20, 60, 145].map((along) => rankOf(PATH, via, along)), [0, 1, 2]);
});

test("the longest leg of a face has its middle there", () => {
  equal(middleOf(PATH, ["front"]).along, 50);
  equal([middleOf(PATH, ["back"]).x, middleOf(PATH, ["back"]).y], [85, 50]);
});

test("what holds a wire are its bends, and of a straight one its middle", () => {
  equal(bendsOf(PATH), [[100, 0, "front"], [100, 50, "front"], [100, 50, "back"]]);
  equal(bendsOf([[0, 0, "front"], [10, 20, "front"]]), [[5, 10, "front"]]);
});
