/**
 * A link is followed once what was typed or moved before it is saved, so that the next page shows
 * it and nobody meets a change of his own as somebody else's.
 *
 * @param {() => Promise<boolean> | null} saving null: nothing is on its way to the server;
 *   otherwise whether all of it was saved in the end
 * @param {() => void} stay called instead of leaving when something was not saved
 */
export function leaveWhenSaved(saving, stay = () => {}) {
  document.addEventListener("click", (event) => {
    const link = event.target instanceof Element ? event.target.closest("a[href]") : null;
    if (!(link instanceof HTMLAnchorElement) || !isFollowedHere(event, link)) return;
    const saved = saving();
    if (!saved) return;
    event.preventDefault();
    void saved.then((all) => (all ? link.click() : stay()));
  });
}

/** @param {MouseEvent} event @param {HTMLAnchorElement} link */
function isFollowedHere(event, link) {
  if (event.defaultPrevented || event.button !== 0) return false;
  if (event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return false;
  return link.target === "" && link.getAttribute("href")?.startsWith("#") === false;
}
