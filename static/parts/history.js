// Ctrl+Z and Ctrl+Y (Ctrl+Shift+Z) press the bar's own buttons; in a text field they stay the field's.

const TEXT = "input:not([type=checkbox],[type=radio],[type=button],[type=submit]), textarea, select, [contenteditable]";

/**
 * Which way a key press goes in the history.
 * @param {KeyboardEvent} event
 * @returns {"undo" | "redo" | null}
 */
function wayOf(event) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return null;
  const key = event.key.toLowerCase();
  if (key === "y" && !event.shiftKey) return "redo";
  if (key !== "z") return null;
  return event.shiftKey ? "redo" : "undo";
}

document.addEventListener("keydown", (event) => {
  const way = wayOf(event);
  if (!way || event.defaultPrevented || event.repeat) return;
  if (event.target instanceof Element && event.target.closest(TEXT)) return;
  const button = document.querySelector(`form[data-history=${way}] button:not(:disabled)`);
  if (!(button instanceof HTMLButtonElement)) return;
  event.preventDefault();
  button.form?.requestSubmit(button);
});
