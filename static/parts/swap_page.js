/**
 * Forms and links of a page that are answered in place: what the server answers replaces the page's
 * content, and focus, scroll and what was folded stay. Without this script they work as always.
 */

const LOST_UPDATE = 412;
const WHOLE = ["main", "header.bar"];

export class SwapPage {
  /** @param {(sent: boolean) => void} brought after each answer; whether it was to something sent */
  constructor(brought) {
    this.brought = brought;
    this.idle = Promise.resolve(); // until nothing is on its way
    this.under = ""; // the form and button whose answer is awaited
    document.addEventListener("submit", (event) => this.#submitted(event));
  }

  /**
   * Bring in the page at an address; a place named behind # in it gets the focus.
   * @param {string} url @param {string} [then] id of what gets it otherwise
   * @param {(page: Document) => string[]} [pieces] which pieces of the page that came are taken
   */
  async open(url, then = "", pieces = () => WHOLE) {
    await this.#answer(() => fetch(url), new URL(url, location.href).hash.slice(1) || then, "link", pieces);
  }

  /** @param {SubmitEvent} event */
  #submitted(event) {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || event.defaultPrevented) return;
    if (!form.matches("[data-swap], [data-history]")) return;
    event.preventDefault();
    const pressed = `${form.id} ${event.submitter?.id ?? ""}`;
    if (pressed === this.under) return; // pressed twice
    if (this.under) void this.idle.then(() => this.#again(form.id, event.submitter?.id ?? ""));
    else void this.send(form, event.submitter);
  }

  /** What was pressed while an answer was on its way: the same in the page that came, if it is there. */
  #again(formId, buttonId) {
    const form = document.getElementById(formId);
    const button = buttonId ? document.getElementById(buttonId) : null;
    if (form instanceof HTMLFormElement && (!buttonId || button)) form.requestSubmit(button);
  }

  /** @param {HTMLFormElement} form @param {HTMLElement | null} submitter */
  async send(form, submitter = null) {
    const body = new FormData(form, submitter);
    const here = location.href;
    const then = submitter?.dataset.then ?? form.dataset.then ?? "";
    const action = submitter?.getAttribute("formaction") ?? form.action;
    await this.#answer(async () => {
      const answer = await fetch(action, { method: "POST", body });
      if (answer.status === LOST_UPDATE) {
        this.#plainly(form, submitter);
        return null;
      }
      return form.matches("[data-history]") && answer.ok ? fetch(here) : answer;
    }, then, `${form.id} ${submitter?.id ?? ""}`);
  }

  /** Send a form the usual way, so that the server's own page is shown. */
  #plainly(form, submitter) {
    form.removeAttribute("data-swap");
    form.removeAttribute("data-history");
    form.requestSubmit(submitter);
  }

  /**
   * One at a time, in order.
   * @param {() => Promise<Response | null>} ask @param {string} then id of what gets the focus
   * @param {string} [under] what was pressed @param {(page: Document) => string[]} [pieces]
   */
  #answer(ask, then, under = "link", pieces = () => WHOLE) {
    const turn = this.idle.then(() => {
      this.under = under;
      return this.#answered(ask, then, pieces);
    });
    this.idle = turn;
    return turn;
  }

  /** @param {() => Promise<Response | null>} ask @param {string} then @param {(page: Document) => string[]} pieces */
  async #answered(ask, then, pieces) {
    try {
      const answer = await ask();
      if (!answer) return;
      if (!answer.ok && answer.status !== 422) throw new TypeError(answer.statusText);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      this.#bring(page, then, pieces(page));
      if (answer.ok) history.replaceState(null, "", answer.url);
      this.brought(answer.ok && this.under !== "link");
    } catch (error) {
      if (!(error instanceof TypeError)) throw error;
      const status = document.querySelector("[data-status]");
      if (status) status.textContent = "Not connected. Try again when the link is back.";
    } finally {
      this.under = "";
    }
  }

  /** @param {Document} page @param {string} then @param {string[]} pieces */
  #bring(page, then, pieces) {
    if (!pieces.length) return;
    for (const folded of page.querySelectorAll("noscript")) folded.textContent = folded.innerHTML; // as in a page that was loaded
    const held = document.activeElement?.id ?? "";
    const inMain = document.querySelector("main")?.contains(document.activeElement) ?? false;
    const scrolled = [...document.querySelectorAll("[data-column]")].map((one) => one.scrollTop);
    const folded = [...document.querySelectorAll("details[id]")].map((one) => [one.id, one.open]);
    for (const name of pieces) {
      const old = document.querySelector(name);
      const fresh = page.querySelector(name);
      if (old && fresh) old.replaceChildren(...document.importNode(fresh, true).childNodes);
    }
    for (const [id, open] of folded) {
      const one = document.getElementById(String(id));
      if (one instanceof HTMLDetailsElement) one.open = Boolean(open);
    }
    [...document.querySelectorAll("[data-column]")].forEach((one, at) => { one.scrollTop = scrolled[at] ?? 0; });
    const wrong = document.querySelector("main [aria-invalid=true]");
    this.#focus(wrong ?? document.getElementById(then), held, inMain);
  }

  /** @param {Element | null} wanted @param {string} held @param {boolean} inMain */
  #focus(wanted, held, inMain) {
    const again = wanted ?? (held ? document.getElementById(held) : null);
    const target = again?.querySelector(":scope > .section-head > [tabindex]") ?? again;
    const isTall = wanted !== null && again.clientHeight > window.innerHeight; // would be shown by its middle
    if (again && (again !== target || isTall)) again.scrollIntoView({ block: "start" });
    if (target instanceof HTMLElement || target instanceof SVGElement) {
      target.focus({ preventScroll: wanted === null || isTall });
    } else if (inMain) {
      document.querySelector("main")?.focus({ preventScroll: true });
    }
  }
}
