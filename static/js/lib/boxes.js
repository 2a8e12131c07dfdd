/**
 * A box in fractions of the trimmed sheet.
 * @typedef {{x: number, y: number, width: number, height: number}} Box
 */

/**
 * The box between two corners, whichever way they were dragged.
 * @param {{x: number, y: number}} from
 * @param {{x: number, y: number}} to
 * @returns {Box}
 */
export function between(from, to) {
  return {
    x: Math.min(from.x, to.x),
    y: Math.min(from.y, to.y),
    width: Math.abs(to.x - from.x),
    height: Math.abs(to.y - from.y),
  };
}

/**
 * Keep a place on the bled sheet.
 * @param {{x: number, y: number}} place
 * @param {{x: number, y: number}} bleed how far the bleed reaches, in fractions
 * @returns {{x: number, y: number}}
 */
export function within(place, bleed) {
  const hold = (/** @type {number} */ value, /** @type {number} */ over) =>
    Math.min(1 + over, Math.max(-over, value));
  return { x: hold(place.x, bleed.x), y: hold(place.y, bleed.y) };
}

/**
 * A per cent as a person types it, with a point or a comma.
 * @param {string} typed
 * @returns {number} the fraction, NaN where it is none
 */
export function fraction(typed) {
  const bare = typed.trim().replace(",", ".");
  return bare === "" ? Number.NaN : Number(bare) / 100;
}

/**
 * A fraction as per cent to a tenth, for a field.
 * @param {number} value
 * @returns {string}
 */
export function percent(value) {
  return String(Math.round(value * 1000) / 10);
}
