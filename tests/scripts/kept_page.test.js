import { equal, test } from "./check.js";
import { filesOf, keepPage, versionOf } from "/static/lib/kept_page.js";

const VERSION = "v-0123456789ab";

/** What a browser has for workers; `answers`: what the worker says of each question. @param {boolean[]} answers */
function container(answers) {
  const found = { asked: [], registered: [], listeners: [], controller: null };
  found.worker = {
    postMessage: (/** @type {any} */ said, /** @type {MessagePort[]} */ [port]) => {
      found.asked.push(said);
      port.postMessage(answers.shift());
    },
  };
  found.addEventListener = (/** @type {string} */ name, /** @type {() => void} */ heard) => found.listeners.push(heard);
  found.register = async (/** @type {string} */ address, /** @type {any} */ { scope }) => found.registered.push([address, scope]);
  return /** @type {any} */ (found);
}

test("a page is kept when its worker takes it over, and says so", async () => {
  const one = container([true]);
  const told = new Promise((done) => void keepPage("/jobs/a/worker.js", VERSION, done, one).then(() => {
    one.controller = one.worker;
    for (const heard of one.listeners) heard();
  }));
  equal(await told, true);
  equal(one.registered, [[`/jobs/a/worker.js?${VERSION}`, location.pathname]]);
  equal(one.asked.length, 1);
});

test("where the browser keeps no pages, or the worker cannot be had, it says so", async () => {
  const said = [];
  await keepPage("/w.js", VERSION, (isKept) => said.push(isKept), null);
  const one = container([]);
  one.register = () => Promise.reject(new TypeError("no link"));
  await keepPage("/w.js", VERSION, (isKept) => said.push(isKept), one);
  equal(said, [false, false]);
});

test("only files whose address names their contents are kept, each once", () => {
  const entries = [`${location.origin}/static/${VERSION}/lib/a.js`, `${location.origin}/static/${VERSION}/lib/a.js`,
    `${location.origin}/static/lib/b.js`, `${location.origin}/api/x`, `http://nowhere.test/static/${VERSION}/c.js`];
  equal(filesOf(/** @type {any} */ (entries.map((name) => ({ name })))), [`/static/${VERSION}/lib/a.js`]);
  equal(versionOf(entries[0]), VERSION);
  equal(versionOf(entries[2]), "");
});
