import { equal, ok, test } from "./check.js";
import { setNames } from "/static/lib/drawing_names.js";

/** A module's name with a room of 20 x 40 mm, and two marks on one spot. */
function drawing() {
  const holder = document.createElement("div");
  holder.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg" class="drawing" viewBox="0 0 100 50" width="200" height="100">
    <g class="module"><g class="name" data-name="Lamp relay" data-height="26 high" data-width="20" data-depth="40" data-most="40 40">
      <g><text class="lettering-name">Lamp relay</text></g><g><text>26 high</text></g></g>
      <text class="lettering-mark" x="80" y="40">A1</text><text class="lettering-mark" x="80" y="40">A2</text></g></svg>`;
  document.body.append(holder);
  return holder.firstElementChild;
}

test("a name takes the lines that its room has at this zoom", () => {
  const svg = drawing();
  setNames(svg, 0.05); // 400 pixels of room
  equal(svg.querySelectorAll("tspan").length, 1);
  setNames(svg, 0.4); // 50 pixels
  equal([...svg.querySelectorAll("tspan")].map((line) => line.textContent), ["Lamp", "relay"]);
  svg.remove();
});

test("where nothing fits the name is left out, and comes back", () => {
  const svg = drawing();
  setNames(svg, 4);
  ok(svg.querySelector(".name").classList.contains("does-not-fit"));
  setNames(svg, 0.1);
  ok(!svg.querySelector(".name").classList.contains("does-not-fit"));
  svg.remove();
});

test("of two marks on one spot one is shown", () => {
  const svg = drawing();
  setNames(svg, 0.1);
  const shown = [...svg.querySelectorAll(".lettering-mark")].map((mark) => mark.getAttribute("display") !== "none");
  equal(shown, [true, false]);
  svg.remove();
});
