import { equal, near, ok, test } from "./check.js";
import { PlateWindow } from "/static/parts/plate_window.js";

const whole = { x: -10, y: -210, width: 200, height: 220 };

test("zooming keeps the point under the pointer where it is", () => {
  const seen = new PlateWindow(whole);
  seen.zoomAt(2, 40, -60);
  near((40 - seen.frame.x) / seen.frame.width, (40 - whole.x) / whole.width);
  near((-60 - seen.frame.y) / seen.frame.height, (-60 - whole.y) / whole.height);
  near(seen.zoom, 2);
});

test("it never shows less than a sixteenth nor more than all", () => {
  const seen = new PlateWindow(whole);
  seen.zoomMiddle(1000);
  near(seen.zoom, 16);
  seen.zoomMiddle(0.0001);
  ok(seen.isWhole);
  equal(seen.frame, whole);
});

test("it cannot be shifted off the drawing", () => {
  const seen = new PlateWindow(whole);
  seen.zoomMiddle(2);
  seen.shift(-1000, 1000);
  equal([seen.frame.x, seen.frame.y + seen.frame.height], [whole.x, whole.y + whole.height]);
});

test("a place out of sight comes into the middle, one in sight stays", () => {
  const seen = new PlateWindow(whole);
  seen.zoomMiddle(4);
  const before = { ...seen.frame };
  seen.reveal(before.x + before.width / 2, before.y + before.height / 2);
  equal(seen.frame, before);
  seen.reveal(20, -180);
  near(seen.frame.x + seen.frame.width / 2, 20);
});
