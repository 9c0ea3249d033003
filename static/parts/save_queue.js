/**
 * Saves one change after the other. A change counts as saved only when the server said so; without
 * a connection changes wait and are tried again. A change made from an older revision than the
 * newest is held back until its person has decided.
 *
 * @typedef {{url: string, body: Record<string, any>, isIn?: (answer: any) => boolean}} Change
 *   isIn: whether a state of the job already holds the change (its answer got lost on the way)
 * @typedef {"saved" | "saving" | "waiting" | "held"} Standing
 */

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 10000;

export class SaveQueue {
  #changes = /** @type {Change[]} */ ([]);
  #busy = false;
  #wait = FIRST_WAIT_MS;
  #asked = /** @type {((saved: boolean) => void)[]} */ ([]);

  /**
   * @param {{
   *   revision: number,
   *   post: (url: string, body: object) => Promise<{status: number, body: any}>,
   *   newest: () => Promise<{status: number, body: any}>,
   *   onSaved: (answer: any) => void,
   *   onRefused: (change: Change, words: string) => void,
   *   onLost: (change: Change, words: string, newest: any) => void,
   *   onStanding: (standing: Standing) => void,
   *   later?: (run: () => void, ms: number) => void,
   * }} how
   */
  constructor(how) {
    this.how = how;
    this.later = how.later ?? ((run, ms) => setTimeout(run, ms));
    this.revision = how.revision;
    this.standing = /** @type {Standing} */ ("saved");
  }

  /** How many changes the server has not confirmed. */
  get waiting() {
    return this.#changes.length;
  }

  /** What is being sent now came to: true when all of it was saved. @returns {Promise<boolean>} */
  outcome() {
    return new Promise((resolve) => this.#asked.push(resolve));
  }

  /** @param {Change} change */
  add(change) {
    this.#changes.push(change);
    if (this.standing !== "held") this.#next();
  }

  /** After a lost update: put the held change on top of the newest revision. */
  goOn() {
    this.#next();
  }

  /** After a lost update: give the held changes up. */
  giveUp() {
    this.#changes = [];
    this.#stand("saved");
  }

  async #next() {
    if (this.#busy) return;
    const change = this.#changes[0];
    if (!change) return this.#stand("saved");
    this.#busy = true;
    this.#stand(this.standing === "waiting" ? "waiting" : "saving");
    const again = await this.#tried(change);
    this.#busy = false;
    if (again) this.#next();
  }

  /** Whether the next change may be sent. @param {Change} change */
  async #tried(change) {
    try {
      const { status, body } = await this.how.post(change.url, { ...change.body, revision: this.revision });
      if (status === 200) return this.#saved(body);
      if (status === 412) return await this.#tooLate(change, body);
      return this.#refused(change, body);
    } catch {
      return this.#unreached();
    }
  }

  #saved(answer) {
    this.#wait = FIRST_WAIT_MS;
    this.#changes.shift();
    this.revision = answer.revision;
    this.#stand(this.#changes.length ? "saving" : "saved");
    this.how.onSaved(answer);
    return true;
  }

  async #tooLate(change, body) {
    const newest = await this.how.newest();
    if (newest.status !== 200) throw new Error("the newest revision could not be read");
    if (change.isIn?.(newest.body)) return this.#saved(newest.body);
    this.revision = newest.body.revision;
    this.#stand("held");
    this.how.onLost(change, body.words, newest.body);
    return false;
  }

  #refused(change, body) {
    this.#changes.shift();
    this.#stand(this.#changes.length ? "saving" : "saved");
    this.how.onRefused(change, body?.words ?? "The server could not save this change.");
    return true;
  }

  #unreached() {
    this.#stand("waiting");
    this.later(() => this.#next(), this.#wait);
    this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT_MS);
    return false;
  }

  #stand(standing) {
    if (this.standing === standing) return;
    this.standing = standing;
    this.how.onStanding(standing);
    if (standing === "saving") return;
    for (const resolve of this.#asked.splice(0)) resolve(standing === "saved");
  }
}
