import { equal, ok, test } from "./check.js";
import { figure, touchWords, typedNumber, verdictWords } from "/static/lib/words.js";

const title = (id) => ({ relay: "Lamp relay" })[id] ?? id;

test("lengths have at most one decimal and a real minus", () => {
  equal([2, 2.04, 2.06, -0.01, -3.5].map(figure), ["2", "2", "2.1", "0", "\u22123.5"]);
});

test("each kind of touch has its words", () => {
  equal(touchWords(["a", "relay", "outlines", 12, 0], title), "on Lamp relay");
  equal(touchWords(["a", "relay", "too near", 1.25, 2], title), "1.3 mm from Lamp relay, 2 needed");
  equal(touchWords(["a", "plate", "off plate", -4, 5], title), "off the plate or over a cut-out");
  equal(touchWords(["a", "plate", "off plate", 3, 5], title), "3 mm from the edge, 5 needed");
  equal(touchWords(["a", "wall", "too deep", 42, 38.5], title), "hits the wall: 42 high, 38.5 free");
});

test("nothing touched: it fits; the same said twice is said once", () => {
  equal(verdictWords("a", [], title), "fits");
  equal(verdictWords("a", [["a", "relay", "outlines", 1, 0], ["a", "relay", "outlines", 2, 0]], title), "on Lamp relay");
});

test("what a module brings along is named when it touches", () => {
  const touches = [["a", "relay", "outlines", 1, 0], ["relay", "c", "too near", 1, 2]];
  equal(verdictWords("a", touches, title), "on Lamp relay; Lamp relay 1 mm from c, 2 needed");
});

test("numbers as people type them", () => {
  equal([" 12.5 ", "12,5", "\u22123", ".5"].map(typedNumber), [12.5, 12.5, -3, 0.5]);
  ok(["", "high", "1e5", "1 2", "--3"].map(typedNumber).every(Number.isNaN));
});
