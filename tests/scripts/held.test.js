import { equal, ok, test } from "./check.js";
import { Held, round } from "/static/parts/held.js";

const place = { face: "front", x: 30, y: 120, turn: 0 };
const box = { left: 0, bottom: 0, right: 70, top: 45 };

test("held where it stands it has not moved", () => {
  const held = new Held("relay", place, place, box);
  ok(!held.isMoved);
  equal(held.outline, { left: 30, bottom: 120, right: 100, top: 165 });
});

test("exact steps add up to thousandths and never snap", () => {
  const held = new Held("relay", place, place, box);
  for (let step = 0; step < 3; step++) held.step(0.1, 0);
  equal(held.place.x, 30.3);
  ok(held.isMoved);
});

test("moved to a point it snaps by its corner", () => {
  const held = new Held("relay", place, place, box);
  held.moveTo(41.2, 99.1, [], 2.5, 3);
  equal([held.place.x, held.place.y], [40, 100]);
});

test("its group comes along by the same way, also after it was turned", () => {
  const mates = new Map([["fuse", { face: "front", x: 5, y: 6, turn: 90 }]]);
  const held = new Held("relay", place, place, box, mates);
  held.step(10, -20);
  equal(held.placements(), {
    relay: { face: "front", x: 40, y: 100, turn: 0 }, fuse: { face: "front", x: 15, y: -14, turn: 90 },
  });
  held.redraw({ ...held.place, turn: 90 }, box, new Map([["fuse", { face: "front", x: 50, y: 60, turn: 180 }]]));
  held.step(1, 2);
  equal(held.placements(), {
    relay: { face: "front", x: 41, y: 102, turn: 90 }, fuse: { face: "front", x: 51, y: 62, turn: 180 },
  });
});

test("from the tray it counts as moved at once", () => {
  ok(new Held("relay", null, place, box).isMoved);
  equal(round(-0.0004), 0);
});
