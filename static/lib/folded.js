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
  const beside = details.id ? document.querySelector(`[data-folded-by="${CSS.escape(details.id)}"]`) : null;
  for (const place of [details, beside]) {
    for (const folded of place?.querySelectorAll("noscript") ?? []) {
      if (opener(folded) !== details) continue; // that of another one inside
      const built = document.createElement("template");
      built.innerHTML = folded.textContent;
      folded.replaceWith(built.content);
    }
  }
}

/** The details that opens what is folded: it stands in it, or in a place that names it. @param {Element} folded */
function opener(folded) {
  const place = /** @type {HTMLElement | null} */ (folded.closest("details, [data-folded-by]"));
  return place?.dataset.foldedBy ? document.getElementById(place.dataset.foldedBy) : place;
}
