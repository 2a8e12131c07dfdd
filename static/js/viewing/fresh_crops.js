/**
 * Small pictures on a page have signed addresses that run out; one that comes too late,
 * because somebody scrolled to it after ten minutes, has the page ask for fresh ones.
 */

const LEAST_MS = 30_000;

/**
 * @param {HTMLElement} root
 * @param {() => void} refresh draws the parts anew, with fresh addresses
 * @param {AbortSignal} signal
 */
export function freshenCrops(root, refresh, signal) {
  let asked = Number.NEGATIVE_INFINITY;
  const failed = (/** @type {Event} */ event) => {
    const inPart = event.target instanceof HTMLImageElement;
    const now = performance.now();
    if (!inPart || !event.target.closest("[data-part]") || now - asked < LEAST_MS)
      return;
    asked = now;
    refresh();
  };
  // Faults of pictures do not bubble; they are caught on their way down.
  root.addEventListener("error", failed, { signal, capture: true });
}
