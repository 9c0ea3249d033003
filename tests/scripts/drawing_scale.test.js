import { equal, near, ok, test } from "./check.js";
import { pixelSize, scaleLettering } from "/static/lib/drawing_scale.js";
import { setNames } from "/static/lib/drawing_names.js";

const SVG = "http://www.w3.org/2000/svg";

/** A drawing 100 mm wide on 200 pixels, with one module and a hatching. */
function drawing() {
  const holder = document.createElement("div");
  holder.innerHTML = `<svg xmlns="${SVG}" class="drawing" viewBox="0 0 100 50" width="200" height="100">
    <defs><pattern class="hatch" data-turn="45" id="h" width="6" height="6" patternUnits="userSpaceOnUse"></pattern></defs>
    <g class="module"><g class="name" data-name="Lamp relay" data-height="26 high" data-rooms="0 0 20 40" transform="translate(10 20)">
      <g><text class="lettering-name">Lamp relay</text></g><g><text>26 high</text></g></g></g></svg>`;
  document.body.append(holder);
  return holder.firstElementChild;
}

test("a pixel's size in mm follows the width of the drawing", () => {
  const svg = drawing();
  near(pixelSize(svg), 0.5, 1e-6);
  svg.setAttribute("width", "400");
  svg.setAttribute("height", "200");
  near(pixelSize(svg), 0.25, 1e-6);
  svg.remove();
});

test("lettering and hatching get that size", () => {
  const svg = drawing();
  near(scaleLettering(svg), 0.5, 1e-6);
  equal(svg.style.getPropertyValue("--u"), "0.50000");
  equal(svg.querySelector("pattern").getAttribute("patternTransform"), "scale(0.50000) rotate(45)");
  ok(svg.classList.contains("is-scaled"));
  svg.remove();
});

test("a drawing that is not shown is left alone", () => {
  const svg = drawing();
  svg.parentElement.style.display = "none";
  ok(Number.isNaN(scaleLettering(svg)));
  svg.remove();
});

test("names are set anew for each size, and small drawings leave heights out", () => {
  const svg = drawing();
  setNames(svg, 0.1);
  equal(svg.querySelector("text").textContent.replace(/\s/g, ""), "Lamprelay");
  equal(svg.querySelectorAll("text")[1].getAttribute("display"), "inline");
  setNames(svg, 1);
  ok(svg.classList.contains("is-small"));
  svg.remove();
});
