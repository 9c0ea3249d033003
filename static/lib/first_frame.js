/**
 * Resolves once the page has been painted as the server sent it: what a script works out then does
 * not keep the first picture waiting. At once in a window that is not shown, which paints nothing.
 *
 * @returns {Promise<void>}
 */
export function firstFrame() {
  if (document.hidden) return Promise.resolve();
  return new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
}
