import { equal, ok, test } from "./check.js";
import { setNames } from "/static/lib/drawing_names.js";

const BOX = "M0 0L60 0L60 45L0 45Z";

/** A plate of 100 x 50 mm with a module of 60 x 45: a name with some room, and two terminals with marks. */
function drawing({ rooms = "0 0 20 40", first = "30", second = "45" } = {}) {
  const mark = (x, words) => `<g class="terminal_mark" data-inward="down" transform="translate(${x} 40)">
    <g class="px"><text class="lettering-mark">${words}</text></g></g>`;
  const holder = document.createElement("div");
  holder.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg" class="drawing" viewBox="0 0 100 50" width="200" height="100">
    <g class="plate"><path d="M-50 -20L150 -20L150 90L-50 90Z" class="pen-edge"/></g><g class="plate_holes"></g>
    <g class="module" data-box="0 0 60 45" transform="translate(0 0)"><path class="pen-outline" d="${BOX}"/>
      <circle cx="${first}" cy="40" r="1.55"/><circle cx="${second}" cy="40" r="1.55"/>
      <g class="name" data-name="Lamp relay" data-height="26 high" data-rooms="${rooms}" transform="translate(10 20)">
        <g class="px"><text class="lettering-name">Lamp relay</text><text>26 high</text></g></g>${mark(first, "A1")}${mark(second, "A2")}</g></svg>`;
  document.body.append(holder);
  return holder.firstElementChild;
}

const shown = (svg) => [...svg.querySelectorAll(".lettering-mark")].map((mark) => mark.getAttribute("display") !== "none");

test("a name takes the lines that its room has at this zoom", () => {
  const svg = drawing();
  setNames(svg, 0.05); // 400 pixels of room
  equal(svg.querySelectorAll("tspan").length, 1);
  setNames(svg, 0.4); // 50 pixels
  equal([...svg.querySelectorAll("tspan")].map((line) => line.textContent), ["Lamp", "relay"]);
  svg.remove();
});

test("a name takes the first room that holds it, and stands in its middle", () => {
  const svg = drawing({ rooms: "0 0 4 4,10 0 50 20" });
  setNames(svg, 0.2);
  equal(svg.querySelector(".name").getAttribute("transform"), "translate(30 10)");
  svg.remove();
});

test("where no room holds it the name stands below its module, and comes back", () => {
  const svg = drawing({ rooms: "0 0 4 4" });
  setNames(svg, 0.2);
  const [, y] = svg.querySelector(".name").getAttribute("transform").match(/-?[\d.]+/g).map(Number);
  ok(y < 0, "it stands under the module's lower edge");
  setNames(svg, 0.02);
  equal(svg.querySelector(".name").getAttribute("transform"), "translate(2 2)");
  svg.remove();
});

test("where nothing is free the name is left out", () => {
  const svg = drawing({ rooms: "0 0 4 4" });
  svg.querySelector(".plate path").setAttribute("d", BOX);
  setNames(svg, 0.2);
  ok(svg.querySelector(".name").classList.contains("does-not-fit"));
  svg.remove();
});

test("of two marks that would meet one is shown, and both where there is room", () => {
  const svg = drawing({ first: "54", second: "57" }); // close to the right edge
  setNames(svg, 0.66); // five pixels apart
  equal(shown(svg).filter(Boolean).length, 1);
  setNames(svg, 0.1);
  equal(shown(svg), [true, true]);
  svg.remove();
});

test("a name beside its module keeps a little off others where another side is free", () => {
  const svg = drawing({ rooms: "0 0 4 4" });
  const below = document.createElementNS("http://www.w3.org/2000/svg", "g");
  below.setAttribute("class", "module");
  below.setAttribute("data-box", "0 -12 60 0");
  below.setAttribute("transform", "translate(0 -3.7)"); // a line and its gap take 17.1 of 18.5 pixels
  svg.append(below);
  setNames(svg, 0.2);
  const [, y] = svg.querySelector(".name").getAttribute("transform").match(/-?[\d.]+/g).map(Number);
  ok(y > 45, "it stands over the module's upper edge");
  svg.remove();
});

test("a name of the other face's modules gives way to printed marks", () => {
  const svg = drawing();
  svg.insertAdjacentHTML("beforeend", `<g class="other" transform="translate(0 0)">
    <g class="name" data-name="Pump" data-height="" data-rooms="35 34 55 41.4,62 0 98 40" transform="translate(0 0)">
      <g class="px"><text class="lettering-other">Pump</text><text></text></g></g></g>`); // its first room lies over the marks
  const { marks } = setNames(svg, 0.1);
  equal(marks.length, 2);
  const [x] = svg.querySelector(".other .name").getAttribute("transform").match(/-?[\d.]+/g).map(Number);
  equal(x, 80);
  svg.remove();
});

/** The holes and outlines of the other face lie over a module. */
function behind(svg, inside) {
  svg.insertAdjacentHTML("beforeend", `<g class="other_face"><g class="behind_module" transform="translate(0 0)">${inside}</g></g>`);
}

const nameOf = (svg) => svg.querySelector(".name").getAttribute("transform");

test("a name keeps clear of a hole of the other face, where its module has another room", () => {
  const svg = drawing({ rooms: "0 0 26 20,30 0 58 20" });
  setNames(svg, 0.2);
  equal(nameOf(svg), "translate(13 10)");
  behind(svg, `<circle cx="13" cy="10" r="2"/>`);
  setNames(svg, 0.2);
  equal(nameOf(svg), "translate(44 10)");
  svg.remove();
});

test("a name that every room crosses stands where it stood", () => {
  const svg = drawing({ rooms: "0 0 26 20" });
  behind(svg, `<path d="M-5 12L70 8L70 90Z"/>`);
  setNames(svg, 0.2);
  equal(nameOf(svg), "translate(13 10)");
  svg.remove();
});

test("neither the line of an aerial's circle nor its figure crosses a name that can stand elsewhere", () => {
  for (const [cx, figure] of [["-10", ""], ["90", `<g transform="translate(13 10)"><g class="px"><text class="lettering-small">35 free</text></g></g>`]]) {
    const svg = drawing({ rooms: "0 0 26 20,30 0 58 20" });
    svg.insertAdjacentHTML("beforeend", `<g class="aerials"><g class="aerial" transform="translate(0 0)"><circle cx="${cx}" cy="10" r="23"/>${figure}</g></g>`);
    setNames(svg, 0.2);
    equal(nameOf(svg), "translate(44 10)");
    svg.remove();
  }
});

test("a name leaves the place of a printed mark to it, where its module has another room", () => {
  const svg = drawing({ rooms: "20 31 42 40,0 0 60 26" }); // the first lies under a terminal
  setNames(svg, 0.2);
  equal(nameOf(svg), "translate(30 13)");
  equal(shown(svg), [true, true]);
  svg.remove();
});

test("a name beside its module stays within the plate's own outline, off its cut-outs", () => {
  const svg = drawing({ rooms: "0 0 4 4" });
  const edge = svg.querySelector(".plate path");
  const where = () => nameOf(svg).match(/-?[\d.]+/g).map(Number);
  edge.setAttribute("d", "M-50 -20L150 -20L150 90L-50 90ZM10 -8L50 -8L50 -1L10 -1Z"); // the cut-out lies below the module
  setNames(svg, 0.2);
  ok(where()[1] > 45, "it stands over the module");
  edge.setAttribute("d", "M-2 0L62 0L70 22L62 45L-2 45Z"); // the edges run along the module; a corner stands out at its right
  setNames(svg, 0.2);
  ok(svg.querySelector(".name").classList.contains("does-not-fit"), "the corner is too small for it");
  edge.setAttribute("d", "M-2 0L62 0L190 22L62 45L-2 45Z");
  setNames(svg, 0.2);
  ok(where()[0] > 60, "it stands in the corner");
  svg.remove();
});
