import { equal, test } from "./check.js";
import { draggedSize } from "/static/parts/size_handles.js";

const before = { width: 260, height: 330 };

test("each handle changes its own side, to whole millimetres", () => {
  equal(draggedSize("x", { x: 230.4, y: 10 }, before), { width: 230, height: 330 });
  equal(draggedSize("y", { x: 5, y: 299.6 }, before), { width: 260, height: 300 });
  equal(draggedSize("xy", { x: 100.5, y: 90.2 }, before), { width: 101, height: 90 });
});

test("a plate is never dragged under 20 mm or inside out", () => {
  equal(draggedSize("xy", { x: -40, y: 3 }, before), { width: 20, height: 20 });
});
