/** The focused field's dimension is lit in the drawings, and only that one. */

/** The drawn key of a field: its name; all fields of a row share the row's. @param {string} name */
export function keyOf(name) {
  const row = /^([a-z_]+-\d+)-/.exec(name);
  return row ? row[1] : name;
}

export class LitDimensions {
  /** @param {HTMLFormElement} form @param {HTMLElement} drawings */
  constructor(form, drawings) {
    this.drawings = drawings;
    this.key = "";
    form.addEventListener("focusin", (event) => {
      const entry = event.target;
      if (entry instanceof HTMLInputElement || entry instanceof HTMLSelectElement
        || entry instanceof HTMLTextAreaElement) this.light(keyOf(entry.name));
    });
    form.addEventListener("focusout", () => this.light(""));
  }

  /** @param {string} key */
  light(key) {
    this.key = key;
    this.again();
  }

  /** After the drawings were replaced. */
  again() {
    for (const drawn of this.drawings.querySelectorAll("[data-key]")) {
      drawn.classList.toggle("is-lit", this.key !== "" && drawn.getAttribute("data-key") === this.key);
    }
  }
}
