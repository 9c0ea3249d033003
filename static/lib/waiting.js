/**
 * What waits to be sent, by the address that takes it: where the browser lets it, it is there again
 * when the window's page is loaded anew, or was thrown away while the telephone lay aside.
 *
 * @template T
 */
export class Waiting {
  /** @param {string} name what it is kept under @param {Storage | null} store */
  constructor(name, store = storage()) {
    this.name = name;
    this.store = store;
    /** @type {Map<string, T>} */
    this.held = new Map();
  }

  /** All that waits, in the order in which it came. @returns {[string, T][]} */
  all() {
    return [...this.#read()];
  }

  /** @param {string} address @param {T} what in place of what waited there */
  put(address, what) {
    const held = this.#read();
    held.delete(address);
    this.#write(held.set(address, what));
  }

  /** It has arrived; what came in its place meanwhile still waits. @param {string} address @param {T} what */
  sent(address, what) {
    const held = this.#read();
    if (JSON.stringify(held.get(address)) === JSON.stringify(what)) held.delete(address);
    this.#write(held);
  }

  #read() {
    try {
      const kept = JSON.parse(this.store?.getItem(this.name) ?? "null");
      if (Array.isArray(kept)) this.held = new Map(kept);
    } catch {
      // what cannot be read is not there
    }
    return this.held;
  }

  /** @param {Map<string, T>} held */
  #write(held) {
    this.held = held;
    try {
      this.store?.setItem(this.name, JSON.stringify([...held]));
    } catch {
      this.store = null; // full or forbidden: it waits in this page alone
    }
  }
}

/** The window's own store; null where it is forbidden. */
function storage() {
  try {
    return sessionStorage;
  } catch {
    return null;
  }
}
