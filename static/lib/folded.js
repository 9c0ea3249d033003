/**
 * What a closed `details` holds in a `noscript` is text to the browser until it is opened: a page
 * of many forms that are rarely opened is painted sooner. Without scripts it is there at once.
 */

/**
 * Build what is opened under `root`, now and later.
 *
 * @param {HTMLElement} root
 * @param {() => void} built called when something was opened later
 */
export function unfoldWhenOpened(root, built) {
  unfold(root);
  root.addEventListener("toggle", ({ target }) => {
    build(/** @type {HTMLDetailsElement} */ (target));
    built();
  }, true);
}

/** Build what is open under `root`. @param {Element} root */
export function unfold(root) {
  root.querySelectorAll("details").forEach(build);
}

/** @param {HTMLDetailsElement} details */
function build(details) {
  if (!details.open) return;
  for (const folded of details.querySelectorAll("noscript")) {
    if (folded.closest("details") !== details) continue; // that of another one inside
    const built = document.createElement("template");
    built.innerHTML = folded.textContent;
    folded.replaceWith(built.content);
  }
}
