import { equal, test } from "./check.js";
import { keyOf, LitDimensions } from "/static/parts/lit_dimensions.js";

test("a field's dimension carries its name, a row's fields share the row's", () => {
  equal(keyOf("opening_low"), "opening_low");
  equal(keyOf("obstructions-2-x0"), "obstructions-2");
  equal(keyOf("unit-diameter"), "unit-diameter");
});

test("only the focused field's dimension is lit, also after the drawing was replaced", () => {
  const form = document.createElement("form");
  form.innerHTML = '<input name="base"><input name="offset">';
  const drawings = document.createElement("div");
  const drawn = '<p data-key="base"></p><p data-key="offset"></p>';
  drawings.innerHTML = drawn;
  document.body.append(form, drawings);
  const lit = new LitDimensions(form, drawings);
  form.querySelector("[name=offset]").focus();
  const keys = () => [...drawings.querySelectorAll(".is-lit")].map((one) => one.dataset.key);
  equal(keys(), ["offset"]);
  drawings.innerHTML = drawn;
  equal(keys(), []);
  lit.again();
  equal(keys(), ["offset"]);
  form.querySelector("[name=base]").focus();
  equal(keys(), ["base"]);
  form.remove();
  drawings.remove();
});
