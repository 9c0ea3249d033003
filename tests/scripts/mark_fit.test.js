import { equal, ok, test } from "./check.js";
import { GAP, placeMarks } from "/static/lib/mark_fit.js";

const RADIUS = 3;
const square = (half) => [[-half, -half], [half, -half], [half, half], [-half, half]];
const ground = (more = {}) => ({ outline: square(100), discs: [], strokes: [], boxes: [], ...more });
const mark = (x, y, more = {}) => ({ x, y, inward: "right", width: 12, height: 13, ...more });

test("a mark stands on the inner side of its terminal, a little off its circle", () => {
  const [spot] = placeMarks([mark(0, 0)], RADIUS, ground());
  equal(spot.box, { left: RADIUS + GAP, right: RADIUS + GAP + 12, top: -6.5, bottom: 6.5 });
});

test("a hole on the inner side sends it to another side, and never under the hole", () => {
  const hole = { x: 14, y: 0, r: 6 };
  const [spot] = placeMarks([mark(0, 0)], RADIUS, ground({ discs: [hole] }));
  ok(spot.side !== "right");
  ok(spot.box.right < hole.x - hole.r || spot.box.bottom < -hole.r || spot.box.top > hole.r);
});

test("a line through the inner side is a hindrance, the slot of its own terminal none", () => {
  const slot = [-2, -2, 2, 2];
  equal(placeMarks([mark(0, 0)], RADIUS, ground({ strokes: [slot] }))[0].side, "right");
  ok(placeMarks([mark(0, 0)], RADIUS, ground({ strokes: [slot, [10, -50, 10, 50]] }))[0].side !== "right");
});

test("a row is marked alike when one of its marks cannot stand on the inner side", () => {
  const row = [mark(0, 0, { inward: "down" }), mark(40, 0, { inward: "down" })];
  const sides = placeMarks(row, RADIUS, ground({ boxes: [{ left: 30, right: 50, top: 3, bottom: 20 }] })).map((spot) => spot.side);
  ok(sides[0] === sides[1] && sides[0] !== "down", `${sides}`);
});

test("a mark beside its terminal keeps off the next one, which it could be taken for", () => {
  const next = { x: 0, y: 24, r: RADIUS };
  const above = { left: 0, right: 30, top: -10, bottom: 10 }; // takes the inner side
  const [spot] = placeMarks([mark(0, 0)], RADIUS, ground({ discs: [next], boxes: [above] }));
  ok(spot.box.bottom < next.y - RADIUS - 8 + 1e-9);
});

test("a mark without clear ground is left out", () => {
  equal(placeMarks([mark(0, 0)], RADIUS, ground({ boxes: [{ left: -90, right: 90, top: -90, bottom: 90 }] })), [null]);
  equal(placeMarks([mark(0, 0)], RADIUS, ground({ outline: square(4) })), [null]);
});

test("between walls a long mark is turned, a single letter never", () => {
  const walls = [{ left: -80, right: -9, top: -80, bottom: 80 }, { left: 9, right: 80, top: -80, bottom: 80 }];
  const place = (width) => placeMarks([mark(0, 0, { inward: "up", width })], RADIUS, ground({ boxes: walls }))[0];
  ok(place(22).turned);
  ok(!place(6).turned);
  const strokes = [[-9, -14, 9, -14], [-9, 14, 9, 14]]; // no way for an upright letter either
  equal(placeMarks([mark(0, 0, { inward: "up", width: 6 })], RADIUS, ground({ boxes: walls, strokes })), [null]);
});

test("a tight row of long marks is turned, letters beside letters", () => {
  const row = [0, 10, 20, 30].map((x) => mark(x, 0, { inward: "up" })); // 12 wide, 10 from one to the next
  const spots = placeMarks(row, RADIUS, ground());
  ok(spots.every((spot) => spot?.turned && spot.side === "up"), JSON.stringify(spots));
  equal(placeMarks([0, 8, 16].map((x) => mark(x, 0, { inward: "up" })), RADIUS, ground()).filter(Boolean).length < 3, true);
});

test("a whole row of letters may stand nearer to the next terminals than one mark alone", () => {
  const xs = [0, 18, 36];
  const discs = xs.map((x) => ({ x, y: 0, r: RADIUS }));
  const name = { left: -90, right: 90, top: 6, bottom: 20 };
  const edge = { left: -90, right: 90, top: -20, bottom: -6 };
  const spots = placeMarks(xs.map((x) => mark(x, 0, { inward: "down", width: 6 })), RADIUS, ground({ discs, boxes: [name, edge] }));
  ok(spots.every((spot) => spot?.side === spots[0].side), JSON.stringify(spots));
  const alone = placeMarks([mark(18, 0, { inward: "down", width: 6 })], RADIUS, ground({ discs, boxes: [name, edge] }));
  equal(alone, [null]);
});
