import { equal, test } from "./check.js";
import { VerdictLink } from "/static/parts/verdict_link.js";

/** A socket in the hand of the test. */
class Line {
  sent = [];
  send(text) {
    this.sent.push(JSON.parse(text));
  }
  close() {}
  answer(words) {
    this.onmessage({ data: JSON.stringify(words) });
  }
}

function bench() {
  const lines = [];
  const heard = [];
  const later = [];
  const link = new VerdictLink(() => (lines.push(new Line()), lines.at(-1)), (verdict) => heard.push(verdict.touches),
    (linked) => heard.push(linked), (run, ms) => later.push([run, ms]));
  return { lines, heard, later, link };
}

test("one question is under way; of those that wait the newest wins", () => {
  const { lines: [line], link } = bench();
  line.onopen();
  for (const x of [1, 2, 3]) link.ask({ x });
  equal(line.sent.map((m) => m.x), [1]);
  line.answer({ seq: 1, touches: ["a"] });
  equal(line.sent.map((m) => [m.seq, m.x]), [[1, 1], [2, 3]]);
});

test("an answer to what is let go is not told", () => {
  const { lines: [line], heard, link } = bench();
  line.onopen();
  link.ask({ x: 1 });
  link.forget();
  line.answer({ seq: 1, touches: ["late"] });
  equal(heard, [true]);
});

test("an error answers the question but is no verdict", () => {
  const { lines: [line], heard, link } = bench();
  line.onopen();
  link.ask({ x: 1 });
  line.answer({ seq: 1, error: "no" });
  link.ask({ x: 2 });
  equal([heard, line.sent.length], [[true], 2]);
});

test("a lost line is opened again, later each time, and asks the newest question", () => {
  const { lines, heard, later, link } = bench();
  lines[0].onopen();
  link.ask({ x: 1 });
  lines[0].onclose();
  link.ask({ x: 2 });
  later.shift()[0]();
  lines[1].onclose();
  equal(later[0][1], 1000);
  later.shift()[0]();
  lines[2].onopen();
  equal(lines[2].sent.map((m) => m.x), [2]);
  equal(heard, [true, false, false, true]);
});
