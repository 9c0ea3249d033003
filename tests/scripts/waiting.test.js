import { equal, test } from "./check.js";
import { Waiting } from "/static/lib/waiting.js";

/** A store of one page's life. @param {(key: string, text: string) => void} [refuse] */
function store(refuse = () => {}) {
  const kept = new Map();
  return /** @type {any} */ ({
    getItem: (/** @type {string} */ key) => kept.get(key) ?? null,
    setItem: (/** @type {string} */ key, /** @type {string} */ text) => { refuse(key, text); kept.set(key, text); },
  });
}

test("what waits is there again in the next page", () => {
  const one = store();
  new Waiting("ticks", one).put("/w1", { done: true });
  equal(new Waiting("ticks", one).all(), [["/w1", { done: true }]]);
  equal(new Waiting("others", one).all(), []);
});

test("what arrived waits no longer, what came in its place does", () => {
  const waiting = new Waiting("ticks", store());
  waiting.put("/w1", { done: true });
  waiting.put("/w2", { done: true });
  waiting.put("/w1", { done: false });
  waiting.sent("/w1", { done: true });
  waiting.sent("/w2", { done: true });
  equal(waiting.all(), [["/w1", { done: false }]]);
});

test("without a store, or with a full one, it waits in the page", () => {
  for (const one of [null, store(() => { throw new Error("full"); })]) {
    const waiting = new Waiting("ticks", one);
    waiting.put("/w1", 1);
    waiting.put("/w2", 2);
    waiting.sent("/w1", 1);
    equal(waiting.all(), [["/w2", 2]]);
  }
});

test("what is no list is not there", () => {
  const one = store();
  one.setItem("ticks", "{broken");
  equal(new Waiting("ticks", one).all(), []);
  one.setItem("ticks", "7");
  equal(new Waiting("ticks", one).all(), []);
});
