/**
 * Where a mark lies: on a picture in fractions of the picture, on a laid picture in
 * fractions of the trimmed sheet.
 *
 * @typedef {{ x: number, y: number }} Point
 * @typedef {import("#lib/sheet.js").Rect} Rect
 */

/** @type {Rect} */
export const WHOLE = { x: 0, y: 0, width: 1, height: 1 };

/** @param {Point} at fractions of the shown picture @param {Rect} rect what it covers */
export function toPlace(at, rect) {
  return { x: rect.x + at.x * rect.width, y: rect.y + at.y * rect.height };
}

/** @param {Point} place @param {Rect} rect */
export function toShown(place, rect) {
  return { x: (place.x - rect.x) / rect.width, y: (place.y - rect.y) / rect.height };
}

const STEP = 0.001;
const LARGE = 0.01;
/** @type {Record<string, [number, number]>} */
const WAYS = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/**
 * Move a mark by a key; other keys leave it where it is.
 *
 * @param {Point} at @param {string} key @param {boolean} large
 * @returns {Point | null}
 */
export function nudged(at, key, large) {
  const way = WAYS[key];
  if (!way) return null;
  const step = large ? LARGE : STEP;
  const within = (/** @type {number} */ value) => Math.min(1, Math.max(0, value));
  return { x: within(at.x + way[0] * step), y: within(at.y + way[1] * step) };
}
