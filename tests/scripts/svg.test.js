import { equal, test } from "./check.js";
import { svg } from "/static/lib/svg.js";

test("an element of a drawing has its attributes and what is inside", () => {
  const dot = svg("circle", { r: 2.5, class: "dot" });
  const group = svg("g", {}, dot);
  equal([dot.namespaceURI, dot.getAttribute("r"), dot.getAttribute("class")], ["http://www.w3.org/2000/svg", "2.5", "dot"]);
  equal([group.tagName, group.childElementCount, group.firstElementChild === dot], ["g", 1, true]);
});
