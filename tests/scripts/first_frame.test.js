import { ok, test } from "./check.js";
import { firstFrame } from "/static/lib/first_frame.js";

test("what waits for the first frame goes on behind a frame, not in it", async () => {
  const order = [];
  requestAnimationFrame(() => order.push("frame"));
  await firstFrame();
  order.push("after");
  ok(order.join() === "frame,after", order.join());
});

test("a window that is not shown paints nothing: there it goes on at once", async () => {
  Object.defineProperty(document, "hidden", { configurable: true, value: true });
  let framed = false;
  requestAnimationFrame(() => (framed = true));
  await firstFrame();
  delete document.hidden;
  ok(!framed, "no frame was waited for");
});
