import { equal, near, ok, test, throws } from "./check.js";

test("values are equal by content, whatever the order of keys", () => {
  equal({ a: 1, b: [2, { c: 3 }] }, { b: [2, { c: 3 }], a: 1 });
});

test("values that differ are told with both", () => {
  throws(() => equal([1, 2], [1, 3]), "expected [1,3], got [1,2]");
});

test("a number that is not one is near to nothing", () => {
  throws(() => near(NaN, 1), "got NaN");
});

test("an expected error that does not come is a failure", () => {
  throws(() => throws(() => 1, "words"), "got none");
});

test("nothing is not true", () => {
  throws(() => ok(0), "got 0");
});
