import { equal, near, test } from "./check.js";
import { shifted, snapped, toGrid } from "/static/lib/snapping.js";

const box = (left, bottom, right, top) => ({ left, bottom, right, top });

test("without neighbours the lower left corner goes to the grid", () => {
  const { dx, dy, chalk } = snapped(box(11.3, 7.6, 41.3, 27.6), [], 5, 3);
  near(11.3 + dx, 10);
  near(7.6 + dy, 10);
  equal(chalk, []);
});

test("no grid and nobody near: it stays where it is held", () => {
  equal(snapped(box(11.3, 7.6, 41.3, 27.6), [], 0, 3), { dx: 0, dy: 0, chalk: [] });
});

test("an edge within reach of a neighbour's edge wins over the grid and draws its line", () => {
  const { dx, chalk } = snapped(box(52, 100, 72, 120), [box(0, 0, 50.4, 20)], 5, 3);
  near(52 + dx, 50.4);
  equal(chalk.filter((line) => line.way === "x"), [{ way: "x", at: 50.4 }]);
});

test("middles meet middles", () => {
  const { dy, chalk } = snapped(box(200, 19, 220, 39), [box(0, 0, 50, 60)], 0, 3);
  near(29 + dy, 30);
  equal(chalk, [{ way: "y", at: 30 }]);
});

test("a neighbour out of reach is not felt", () => {
  const { dx } = snapped(box(60, 0, 80, 20), [box(0, 0, 50, 20)], 0, 3);
  equal(dx, 0);
});

test("the grid counts from the corner, also below it", () => {
  near(toGrid(-3.1, 2.5), -2.5);
  equal(shifted(box(0, 0, 1, 2), 3, 4), box(3, 4, 4, 6));
});
