// The page that stands in for Wires while many wires are laid: it gives way once they lie. The one
// that follows waits for them itself, should they have been forgotten meanwhile.

const link = /** @type {HTMLAnchorElement} */ (document.querySelector("[data-laying]"));

try {
  const known = await fetch(String(link.dataset.laying));
  const whole = new URL(location.href);
  whole.searchParams.set("laid", "1");
  if (known.ok) location.replace(whole);
} catch (error) {
  if (!(error instanceof TypeError)) throw error; // not connected: the link stays
}
