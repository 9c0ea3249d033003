// The page that stands in for Wires while many wires are laid: it gives way once they lie.

const link = /** @type {HTMLAnchorElement} */ (document.querySelector("[data-laying]"));

try {
  const known = await fetch(String(link.dataset.laying));
  if (known.ok) location.reload();
} catch (error) {
  if (!(error instanceof TypeError)) throw error; // not connected: the link stays
}
