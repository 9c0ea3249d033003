import { equal, ok, test } from "./check.js";
import { unfold, unfoldWhenOpened } from "/static/lib/folded.js";

/** A group of findings with a card whose form stands folded, as the server sends it. */
function page({ group = "open", card = "" } = {}) {
  const holder = document.createElement("div");
  holder.innerHTML = `<details class="group" ${group}><summary>Warn</summary>
    <details class="card" ${card}><summary>Accept</summary><noscript><form><input name="reason"></form></noscript></details></details>`;
  document.body.append(holder);
  return holder;
}

const opened = (details) => new Promise((resolve) => {
  details.addEventListener("toggle", resolve, { once: true });
  details.open = true;
});

test("what is folded is text until its own details are opened", async () => {
  const holder = page();
  let built = 0;
  unfoldWhenOpened(holder, () => (built += 1));
  equal(holder.querySelector("input"), null);
  await opened(holder.querySelector(".card"));
  equal(holder.querySelector("input").name, "reason");
  equal(holder.querySelector("noscript"), null);
  ok(built > 0, "it is told when something was opened");
  holder.remove();
});

test("what is open already is built at once, what is closed inside it is not", () => {
  const open = page({ card: "open" });
  unfold(open);
  ok(open.querySelector("input"));
  const closed = page();
  unfold(closed);
  equal(closed.querySelector("input"), null);
  open.remove();
  closed.remove();
});

test("what stands beside its details, in a row below, is built when that is opened", async () => {
  const holder = document.createElement("div");
  holder.innerHTML = `<details open><summary>All</summary><table><tbody>
    <tr><th><details id="fuse-1"><summary>Fuse 1</summary></details></th></tr>
    <tr><td><div data-folded-by="fuse-1"><noscript><b>40 A</b></noscript></div></td></tr></tbody></table></details>`;
  document.body.append(holder);
  unfoldWhenOpened(holder, () => {});
  equal(holder.querySelector("b"), null);
  await opened(holder.querySelector("#fuse-1"));
  equal(holder.querySelector("b").textContent, "40 A");
  holder.remove();
});
