import { equal, test } from "./check.js";
import { within } from "/static/lib/limits.js";

test("coordinates are kept within 5000 mm of the origin, as in the contract", () => {
  equal([0, 12.5, 5000, 5000.1, -5000.1, Infinity].map(within), [0, 12.5, 5000, 5000, -5000, 5000]);
});
