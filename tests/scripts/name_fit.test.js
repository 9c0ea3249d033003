import { equal, near, ok, test } from "./check.js";
import { besides, breaks, setInRooms, setName, TIGHT } from "/static/lib/name_fit.js";

const measure = (text) => text.length * 7;

test("a name that fits stands on one line with its height below", () => {
  equal(setName("Meter", "22 high", 100, 40, measure), { lines: ["Meter"], turned: false, height: true });
});

test("a narrow room breaks it, a low one leaves the height out", () => {
  equal(setName("Lamp relay", "26 high", 55, 60, measure), { lines: ["Lamp", "relay"], turned: false, height: true });
  equal(setName("Lamp relay", "26 high", 90, 20, measure), { lines: ["Lamp relay"], turned: false, height: false });
});

test("a narrow and tall room turns it, and where nothing fits there is none", () => {
  equal(setName("Motorterminals", "", 20, 120, measure), { lines: ["Motorterminals"], turned: true, height: false });
  equal(setName("Motorterminals", "", 20, 50, measure), null);
});

test("lines are broken evenly", () => {
  equal(breaks("Sound and light controller"), [
    ["Sound and light controller"], ["Sound and light", "controller"], ["Sound", "and light", "controller"],
  ]);
});

const room = (width, height) => ({ left: 0, right: width, top: 0, bottom: height });

test("a name a little too wide is set smaller, before it is broken or takes another room", () => {
  // "Lampboard" is 63 wide, 55 when small
  const found = setInRooms("Lampboard", "", [room(58, 20), room(200, 20)], [1, TIGHT], measure, () => true);
  equal([found.size, found.x, found.y], [TIGHT, 29, 10]);
  near(found.boxes[0].right - found.boxes[0].left, 63 * TIGHT, 1e-9);
});

test("a room whose line would run into a sign is passed over", () => {
  const found = setInRooms("Meter", "", [room(100, 20), room(200, 20)], [1], measure, ({ left }) => left > 50);
  equal(found.x, 100);
});

test("beside a module a name is tried below, above, right and left, off the module", () => {
  const own = { left: 0, right: 40, top: 0, bottom: 30 };
  const found = besides("Meter", own, measure).map(({ boxes: [box] }) => box);
  ok(found[0].top > 30 && found[1].bottom < 0 && found[2].left > 40 && found[3].right < 0);
});
