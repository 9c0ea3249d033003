/**
 * A form whose drawings follow what is typed, and which saves when a changed field is left.
 *
 * The server answers every request with the whole page; its regions (`[data-region]`), the bar's
 * history and the fields' faults are brought over. A field that has the focus keeps its text.
 */

import { leaveWhenSaved } from "./leaving.js";

const FOLLOW_AFTER_MS = 250;
const LOST_UPDATE = 412;

export class LiveForm {
  /** @param {HTMLFormElement} form @param {() => void} brought called after each answer */
  constructor(form, brought = () => {}) {
    this.form = form;
    this.brought = brought;
    this.timer = 0;
    this.asked = new AbortController();
    this.saving = Promise.resolve(true); // whether the last save went well
    this.unsaved = 0; // saves on their way
    this.edits = 0;
    this.holdsStill = () => false; // while it does, no answer replaces a drawing
    form.addEventListener("input", () => this.follow());
    form.addEventListener("change", (event) => this.changed(event));
    form.addEventListener("submit", (event) => this.submitted(event));
    document.addEventListener("submit", (event) => this.beforeOthers(event), true);
    leaveWhenSaved(() => (this.unsaved ? this.saving : null), () => this.focusWrong());
    brought();
    if (wasTyped(form)) void this.save();
  }

  /** Draw what is typed, a little later. */
  follow() {
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => void this.preview(), FOLLOW_AFTER_MS);
  }

  async preview() {
    this.asked.abort();
    this.asked = new AbortController();
    const edits = this.edits;
    const page = await this.ask(this.form.dataset.preview ?? "", this.asked.signal);
    if (page && edits === this.edits && !this.holdsStill()) this.bring(page, null);
  }

  /** @param {Event} event */
  changed(event) {
    if (event.target instanceof Element && event.target.closest("[data-not-saved]")) return;
    void this.save();
  }

  /** Save after whatever is being saved. @param {HTMLElement | null} submitter */
  save(submitter = null) {
    clearTimeout(this.timer);
    this.asked.abort();
    this.edits += 1;
    this.unsaved += 1;
    this.saving = this.saving.then(() => this.saveNow(submitter)).finally(() => { this.unsaved -= 1; });
    return this.saving;
  }

  focusWrong() {
    const wrong = this.form.querySelector("[aria-invalid=true]");
    if (wrong instanceof HTMLElement) wrong.focus();
  }

  /** Whether it was saved. @param {HTMLElement | null} submitter */
  async saveNow(submitter) {
    this.say("saving");
    const own = submitter?.getAttribute("formaction");
    const sent = new FormData(this.form);
    const page = await this.ask(own ?? this.form.action, undefined, submitter);
    if (!page) return false;
    this.bring(page, sent);
    const refused = page.querySelector(".is-wrong, #form-faults .verdict") !== null;
    this.say(refused ? "not saved yet" : "saved");
    return !refused;
  }

  /**
   * @param {string} url @param {AbortSignal} [signal] @param {HTMLElement | null} [submitter]
   * @returns {Promise<Document | null>}
   */
  async ask(url, signal, submitter = null) {
    const body = new FormData(this.form);
    const pressed = submitter instanceof HTMLButtonElement ? submitter : null; // may be replaced by now
    if (pressed?.name) body.set(pressed.name, pressed.value);
    try {
      const answer = await fetch(url, { method: "POST", body, signal });
      if (answer.status === LOST_UPDATE) {
        this.form.submit();
        return null;
      }
      if (!answer.ok && answer.status !== 422) throw new TypeError(answer.statusText);
      return new DOMParser().parseFromString(await answer.text(), "text/html");
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") return null;
      if (!(error instanceof TypeError)) throw error;
      this.say("not connected: your changes wait here, press Save when the link is back");
      return null;
    }
  }

  /** @param {Document} page @param {FormData | null} sent what was saved; null: nothing was */
  bring(page, sent) {
    for (const region of document.querySelectorAll("[data-region]")) swap(region, page);
    if (sent) for (const rows of this.form.querySelectorAll("[data-rows]")) bringRows(rows, page, sent);
    for (const field of this.form.querySelectorAll("[data-field]")) bringField(field, page, sent);
    if (sent) {
      for (const input of page.querySelectorAll("form[id] input[name=revision]")) this.revise(input);
      const history = document.getElementById("history");
      if (history) swap(history, page);
      bringStops(page);
    }
    this.brought();
  }

  /** @param {Element} fresh */
  revise(fresh) {
    if (!(fresh instanceof HTMLInputElement) || fresh.form?.id !== this.form.id) return;
    for (const input of document.querySelectorAll("main input[name=revision]")) {
      if (input instanceof HTMLInputElement) input.value = fresh.value;
    }
  }

  /** @param {SubmitEvent} event */
  submitted(event) {
    const button = event.submitter;
    if (button instanceof HTMLButtonElement && button.hasAttribute("data-plain")) return;
    event.preventDefault();
    const unit = button instanceof HTMLButtonElement && button.hasAttribute("data-unit");
    void this.save(button).then(() => {
      if (unit) document.getElementById(button.name.replace(/^unit-/, ""))?.focus();
    });
  }

  /** Undo and the other forms of the page wait for a save that is on its way. @param {Event} event */
  beforeOthers(event) {
    const other = event.target;
    if (!(other instanceof HTMLFormElement) || other === this.form || !this.unsaved) return;
    event.preventDefault();
    event.stopPropagation();
    const submitter = event instanceof SubmitEvent ? event.submitter : null;
    void this.saving.then(() => {
      const form = other.isConnected ? other : again(other);
      const button = form === other ? submitter : form?.querySelector("button");
      if (!form) return;
      form.requestSubmit(button instanceof HTMLElement ? button : null);
    });
  }

  /** @param {string} words */
  say(words) {
    const state = this.form.querySelector("[data-state]");
    if (state) state.textContent = words;
  }
}

/** Whether somebody was quicker than this script. @param {HTMLFormElement} form */
function wasTyped(form) {
  return [...form.elements].some((entry) => {
    if (entry.closest("[data-not-saved]")) return false;
    if (entry instanceof HTMLSelectElement) return [...entry.options].some((one) => one.selected && !one.defaultSelected);
    return (entry instanceof HTMLInputElement || entry instanceof HTMLTextAreaElement) && entry.value !== entry.defaultValue;
  });
}

/** The form in the page that does what a replaced one did. @param {HTMLFormElement} old */
function again(old) {
  for (const form of document.forms) if (form.action === old.action) return form;
  return null;
}

/** @param {Element} region @param {Document} page */
function swap(region, page) {
  const fresh = page.getElementById(region.id);
  if (!fresh || region.contains(document.activeElement) && document.activeElement !== region) {
    if (!fresh) return;
    keepFocus(region, fresh);
    return;
  }
  replace(region, fresh);
}

/** @param {Element} region @param {Element} fresh */
function replace(region, fresh) {
  const open = [...region.querySelectorAll("details")].map((one) => one.open);
  const made = document.importNode(fresh, true);
  [...made.querySelectorAll("details")].forEach((one, at) => { one.open = open[at] ?? one.open; });
  region.replaceChildren(...made.childNodes);
}

/** Bring a region over and give the focus back to what had it. @param {Element} region @param {Element} fresh */
function keepFocus(region, fresh) {
  const held = document.activeElement;
  const wanted = held?.id ? `#${CSS.escape(held.id)}` : "";
  const at = [...region.querySelectorAll("button, a, input, select, summary")].indexOf(/** @type {any} */ (held));
  replace(region, fresh);
  const again = wanted ? region.querySelector(wanted)
    : region.querySelectorAll("button, a, input, select, summary")[at];
  if (again instanceof HTMLElement) again.focus();
}

/**
 * A field as the server shows it; one that is being typed in, or was changed since it was sent,
 * keeps its text.
 * @param {Element} field @param {Document} page @param {FormData | null} sent
 */
function bringField(field, page, sent) {
  const fresh = page.getElementById(field.id);
  const entry = field.querySelector("input, select, textarea");
  if (!fresh || !isEntry(entry)) return;
  const held = entry === document.activeElement || field.closest("[data-not-saved]") !== null;
  if (sent && !held && sent.get(entry.name) === entry.value) {
    const onUnit = field.contains(document.activeElement);
    field.setAttribute("class", fresh.getAttribute("class") ?? "");
    field.replaceChildren(...document.importNode(fresh, true).childNodes);
    const unit = field.querySelector("[data-unit]");
    if (onUnit && unit instanceof HTMLElement) unit.focus();
    return;
  }
  if (held && !sent && fresh.classList.contains("is-wrong")) return;
  bringFault(field, fresh);
}

/**
 * Rows that the server added or took away; rows that were changed since they were sent stay.
 * @param {Element} rows @param {Document} page @param {FormData} sent
 */
function bringRows(rows, page, sent) {
  const fresh = page.getElementById(rows.id);
  const names = (/** @type {Element} */ group) => [...group.querySelectorAll("[name][id]")]
    .map((entry) => entry.getAttribute("name"));
  const here = names(rows);
  const there = fresh ? names(fresh) : here;
  const were = [...sent.keys()].filter((name) => here.includes(name));
  if (!fresh || here.join() === there.join() || here.length !== were.length) return;
  const isFilling = there.length < here.length; // a row that holds nothing yet is not stored
  if (isFilling || rows.querySelector("ol")?.contains(document.activeElement)) return;
  rows.querySelector("ol")?.replaceWith(document.importNode(fresh.querySelector("ol") ?? fresh, true));
}

/** @param {Element | null} entry @returns {entry is HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} */
function isEntry(entry) {
  return entry instanceof HTMLInputElement || entry instanceof HTMLSelectElement
    || entry instanceof HTMLTextAreaElement;
}

/** @param {Element} field @param {Element} fresh */
function bringFault(field, fresh) {
  field.querySelector(".field-fault")?.remove();
  const fault = fresh.querySelector(".field-fault");
  if (fault) field.append(document.importNode(fault, true));
  field.classList.toggle("is-wrong", fault !== null);
  const entry = field.querySelector("input, select, textarea");
  const entered = fresh.querySelector("input, select, textarea");
  if (!entry || !entered) return;
  for (const name of ["aria-invalid", "aria-describedby"]) {
    const value = entered.getAttribute(name);
    if (value === null) entry.removeAttribute(name);
    else entry.setAttribute(name, value);
  }
}

/** @param {Document} page */
function bringStops(page) {
  const marks = document.querySelectorAll("[data-stop-mark]");
  const fresh = page.querySelectorAll("[data-stop-mark]");
  marks.forEach((mark, at) => {
    const new_ = fresh[at];
    if (!new_) return;
    mark.toggleAttribute("hidden", new_.hasAttribute("hidden"));
    mark.setAttribute("aria-label", new_.getAttribute("aria-label") ?? "");
  });
}
