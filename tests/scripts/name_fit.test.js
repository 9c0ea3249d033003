import { equal, test } from "./check.js";
import { breaks, clearOnes, setName } from "/static/lib/name_fit.js";

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

test("of boxes that run into each other the first stays", () => {
  const at = (left) => ({ left, right: left + 10, bottom: 0, top: 5 });
  equal(clearOnes([at(0), at(5), at(11), at(10)]), [true, false, true, false]);
});
