/**
 * The straight edge between two pictures, moved by pointer or arrow keys.
 *
 * @param {HTMLElement} edge
 * @param {() => number} at where it lies, per cent of the view
 * @param {(edge: number) => void} move
 * @param {AbortSignal} signal
 */
export function onEdge(edge, at, move, signal) {
  const art = /** @type {HTMLElement} */ (edge.parentElement);

  /** @param {PointerEvent} event */
  const follow = (event) => {
    if (!edge.hasPointerCapture(event.pointerId)) return;
    const box = art.getBoundingClientRect();
    move(((event.clientX - box.left) / box.width) * 100);
  };

  /** @param {KeyboardEvent} event */
  const nudge = (event) => {
    const way = WAYS[event.key];
    if (!way) return;
    event.preventDefault();
    event.stopPropagation();
    move(at() + way * (event.shiftKey ? 5 : 1));
  };

  edge.addEventListener(
    "pointerdown",
    (event) => edge.setPointerCapture(event.pointerId),
    { signal },
  );
  edge.addEventListener("pointermove", follow, { signal });
  edge.addEventListener("keydown", nudge, { signal });
}

/** @type {Record<string, number>} */
const WAYS = { ArrowLeft: -1, ArrowRight: 1, Home: -100, End: 100 };
