import { equal, test } from "./check.js";
import { setFlags } from "/static/lib/flags.js";

const SVG = "http://www.w3.org/2000/svg";

/** A drawing with flags of 20 pixels at these places. @param {[string, string][]} flags */
function drawing(flags) {
  const svg = document.createElementNS(SVG, "svg");
  for (const [kind, places] of flags) {
    const flag = document.createElementNS(SVG, "g");
    flag.setAttribute("class", `flag ${kind}`);
    flag.setAttribute("data-places", places);
    const box = document.createElementNS(SVG, "rect");
    box.setAttribute("width", "20");
    flag.append(box);
    svg.append(flag);
  }
  return /** @type {SVGSVGElement} */ (svg);
}

/** @param {SVGSVGElement} svg */
const places = (svg) => [...svg.children].map((flag) =>
  flag.classList.contains("does-not-fit") ? null : flag.getAttribute("transform"));

test("each takes its first place where that is free", () => {
  const svg = drawing([["", "0 0;0 40"], ["", "30 0"]]);
  setFlags(svg, 1);
  equal(places(svg), ["translate(0 0)", "translate(30 0)"]);
});

test("one that would lie on another takes its next place, or none", () => {
  const svg = drawing([["", "0 0"], ["", "5 5;5 40"], ["", "2 2"]]);
  setFlags(svg, 1);
  equal(places(svg), ["translate(0 0)", "translate(5 40)", null]);
});

test("the traced wire chooses first", () => {
  const svg = drawing([["", "0 0"], ["is-traced", "2 2"]]);
  setFlags(svg, 1);
  equal(places(svg), [null, "translate(2 2)"]);
});

test("a module's name is not covered", () => {
  const svg = drawing([["", "0 0;0 40"], ["", "0 -40"]]);
  setFlags(svg, 1, { names: [{ left: -30, right: 30, top: -8, bottom: 8 }, { left: -5, right: 5, top: 30, bottom: 50 }], marks: [] });
  equal(places(svg), ["translate(0 40)", null]);
  setFlags(svg, 1);
  equal(places(svg)[1], null);
});

test("a printed mark is covered only where there is no other place", () => {
  const svg = drawing([["", "0 0;0 40"], ["", "60 0"]]);
  setFlags(svg, 1, { names: [], marks: [{ left: -3, right: 3, top: -5, bottom: 5 }, { left: 57, right: 63, top: -5, bottom: 5 }] });
  equal(places(svg), ["translate(0 40)", "translate(60 0)"]);
});

test("closer in there is room for more", () => {
  const svg = drawing([["", "0 0"], ["", "10 0"]]);
  setFlags(svg, 1);
  equal(places(svg)[1], null);
  setFlags(svg, 0.25);
  equal(places(svg)[1], "translate(10 0)");
});

/** A drawing whose last flag is the name of a run so many mm long. @param {[string, string][]} flags @param {string} long */
function withName(flags, long) {
  const svg = drawing(flags);
  Object.assign(/** @type {SVGElement} */ (svg.lastElementChild).dataset, { run: "R1", long });
  return svg;
}

test("the name of a run gives way to numbers, also to those that come after it", () => {
  const svg = withName([["", "5 0"], ["", "0 0;0 40"]], "60");
  svg.prepend(svg.lastElementChild);
  setFlags(svg, 1);
  equal(places(svg), ["translate(0 40)", "translate(5 0)"]);
});

test("the name of a run covers no mark", () => {
  const svg = withName([["", "0 0"]], "60");
  setFlags(svg, 1, { names: [], marks: [{ left: -3, right: 3, top: -5, bottom: 5 }] });
  equal(places(svg), [null]);
});

test("a run that is shorter than its name bears it only closer in, or traced", () => {
  const svg = withName([["", "0 0"]], "20");
  setFlags(svg, 1);
  equal(places(svg), [null]);
  setFlags(svg, 0.5);
  equal(places(svg), ["translate(0 0)"]);
  svg.lastElementChild.classList.add("is-traced");
  setFlags(svg, 1);
  equal(places(svg), ["translate(0 0)"]);
});
