import { equal, test } from "./check.js";
import { nextIn } from "/static/lib/choosing.js";

const spots = [{ id: "a", x: 0, y: 0 }, { id: "b", x: 50, y: 5 }, { id: "c", x: 30, y: 60 }, { id: "d", x: -40, y: 0 }];

test("the nearest one ahead, what lies aside counting double", () => {
  equal(nextIn(spots[0], spots, "right"), "b");
  equal(nextIn(spots[0], spots, "left"), "d");
  equal(nextIn(spots[3], spots, "up"), "c"); // b is nearer but almost level
});

test("nobody that way", () => {
  equal(nextIn(spots[0], spots, "down"), null);
});
