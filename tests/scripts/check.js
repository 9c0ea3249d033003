/** A small test bench for browser scripts: name a test, assert in it, results go to the page. */

const tests = [];

/** @param {string} name @param {() => void | Promise<void>} body */
export function test(name, body) {
  tests.push({ name, body });
}

/** @param {unknown} value @param {string} [words] */
export function ok(value, words = "expected something true") {
  if (!value) throw new Error(`${words}, got ${show(value)}`);
}

/** Equal by value: numbers, texts, lists and plain objects. */
export function equal(value, expected) {
  if (show(value) !== show(expected)) {
    throw new Error(`expected ${show(expected)}, got ${show(value)}`);
  }
}

/** @param {number} value @param {number} expected @param {number} [within] */
export function near(value, expected, within = 1e-9) {
  if (!(Math.abs(value - expected) <= within)) {
    throw new Error(`expected ${expected} within ${within}, got ${value}`);
  }
}

/** @param {() => unknown} body @param {string} words that the error must hold */
export function throws(body, words) {
  try {
    body();
  } catch (error) {
    if (String(error).includes(words)) return;
    throw new Error(`expected an error with "${words}", got ${error}`);
  }
  throw new Error(`expected an error with "${words}", got none`);
}

function show(value) {
  return JSON.stringify(value, (_key, part) => {
    if (Object.is(part, -0)) return 0;
    if (typeof part === "number" && !Number.isFinite(part)) return String(part);
    if (part === undefined) return "undefined";
    if (part instanceof Map || part instanceof Set) return [...part];
    if (part && typeof part === "object" && !Array.isArray(part)) {
      return Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)));
    }
    return part;
  });
}

/** Runs all named tests; answers [[name, "" or what went wrong]]. */
export async function run() {
  const results = [];
  for (const { name, body } of tests) {
    let wrong = "";
    try {
      await body();
    } catch (error) {
      wrong = `${error && error.stack ? error.stack : error}`;
    }
    results.push([name, wrong]);
  }
  return results;
}
