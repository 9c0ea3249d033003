import { equal, test } from "./check.js";
import { SaveQueue } from "/static/parts/save_queue.js";

/** A server that answers what it is told to, and a queue that remembers what it says. */
function bench(answers, newest = {}) {
  const log = [];
  const later = [];
  const queue = new SaveQueue({
    revision: 1,
    post: async (url, body) => {
      log.push(`${url} ${body.revision}`);
      const answer = answers.shift();
      if (answer === "lost") throw new Error("no connection");
      return answer;
    },
    newest: async () => ({ status: 200, body: newest }),
    onSaved: (answer) => log.push(`saved ${answer.revision}`),
    onRefused: (_change, words) => log.push(`refused ${words}`),
    onLost: (_change, words) => log.push(`late ${words}`),
    onStanding: (standing) => log.push(standing),
    later: (run) => later.push(run),
  });
  return { queue, log, later };
}

const settled = async () => {
  for (let turn = 0; turn < 20; turn++) await null;
};
const saved = (revision) => ({ status: 200, body: { revision } });

test("changes are saved one after the other, each on the newest revision", async () => {
  const { queue, log } = bench([saved(2), saved(3)]);
  queue.add({ url: "a", body: {} });
  queue.add({ url: "b", body: {} });
  await settled();
  equal(log, ["saving", "a 1", "saved 2", "b 2", "saved", "saved 3"]);
  equal(queue.waiting, 0);
});

test("without a connection a change waits, is not called saved, and is tried again", async () => {
  const { queue, log, later } = bench(["lost", "lost", saved(2)]);
  queue.add({ url: "a", body: {} });
  await settled();
  equal([queue.waiting, queue.standing], [1, "waiting"]);
  later.shift()();
  await settled();
  equal(queue.standing, "waiting");
  later.shift()();
  await settled();
  equal(log, ["saving", "a 1", "waiting", "a 1", "a 1", "saved", "saved 2"]);
});

test("a change from an older revision is held until the person decides", async () => {
  const { queue, log } = bench([{ status: 412, body: { words: "changed" } }, saved(6)], { revision: 5 });
  queue.add({ url: "a", body: {} });
  await settled();
  equal([queue.standing, queue.waiting], ["held", 1]);
  queue.goOn();
  await settled();
  equal(log, ["saving", "a 1", "held", "late changed", "saving", "a 5", "saved", "saved 6"]);
});

test("what is given up is not sent again", async () => {
  const { queue, log } = bench([{ status: 412, body: { words: "changed" } }], { revision: 5 });
  queue.add({ url: "a", body: {} });
  await settled();
  queue.giveUp();
  await settled();
  equal([queue.waiting, queue.standing], [0, "saved"]);
  equal(log.filter((line) => line.startsWith("a ")).length, 1);
});

test("a change whose answer got lost is found in the newest revision", async () => {
  const { queue, log } = bench([{ status: 412, body: { words: "changed" } }], { revision: 2, x: 7 });
  queue.add({ url: "a", body: {}, isIn: (answer) => answer.x === 7 });
  await settled();
  equal(log, ["saving", "a 1", "saved", "saved 2"]);
});

test("a refused change is told and the next one goes on", async () => {
  const { queue, log } = bench([{ status: 422, body: { words: "too far" } }, saved(2)]);
  queue.add({ url: "a", body: {} });
  queue.add({ url: "b", body: {} });
  await settled();
  equal(log, ["saving", "a 1", "refused too far", "b 1", "saved", "saved 2"]);
});
