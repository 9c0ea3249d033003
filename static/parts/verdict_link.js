/**
 * Asks the server what a held module touches: one question under way, the newest one waits, older
 * ones are dropped. A lost link is opened again; until then nothing is known.
 *
 * @typedef {{seq: number, revision: number, touches: [string, string, string, number | null, number | null][], free: [number, number] | null}} Verdict
 */

const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 8000;

export class VerdictLink {
  #open;
  #later;
  #socket = null;
  #seq = 0;
  #asked = 0;
  #next = null;
  #wait = FIRST_WAIT_MS;
  #ended = false;

  /**
   * @param {() => WebSocket} open makes a socket
   * @param {(verdict: Verdict) => void} onVerdict newest answers only
   * @param {(linked: boolean) => void} onLink
   * @param {(run: () => void, ms: number) => void} later
   */
  constructor(open, onVerdict, onLink, later = (run, ms) => setTimeout(run, ms)) {
    this.#open = open;
    this.#later = later;
    this.onVerdict = onVerdict;
    this.onLink = onLink;
    this.linked = false;
    this.#connect();
  }

  /** Ask; a question that is still waiting is replaced. @param {object} question */
  ask(question) {
    this.#next = question;
    this.#send();
  }

  /** No answer that is still under way is of interest any more. */
  forget() {
    this.#next = null;
    this.#seq += 1;
  }

  end() {
    this.#ended = true;
    this.#socket?.close();
  }

  #connect() {
    const socket = this.#open();
    this.#socket = socket;
    socket.onopen = () => this.#linked(true);
    socket.onmessage = (event) => this.#answered(JSON.parse(event.data));
    socket.onclose = () => this.#lost();
  }

  #linked(linked) {
    this.linked = linked;
    this.#asked = 0;
    this.#wait = linked ? FIRST_WAIT_MS : this.#wait;
    this.onLink(linked);
    this.#send();
  }

  #lost() {
    if (this.#ended) return;
    this.#linked(false);
    this.#later(() => this.#ended || this.#connect(), this.#wait);
    this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT_MS);
  }

  #send() {
    if (!this.linked || this.#asked || !this.#next) return;
    this.#seq += 1;
    this.#asked = this.#seq;
    this.#socket.send(JSON.stringify({ seq: this.#seq, ...this.#next }));
    this.#next = null;
  }

  #answered(answer) {
    this.#asked = 0;
    if (answer.seq === this.#seq && !answer.error) this.onVerdict(answer);
    this.#send();
  }
}
