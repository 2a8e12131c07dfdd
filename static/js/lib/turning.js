/** Turning pages: which opening comes next, and what a clock says. */

/**
 * The opening after a step; one past the last means the book is read through.
 *
 * @param {number} at @param {number} step @param {number} openings
 */
export function turned(at, step, openings) {
  return Math.max(0, Math.min(at + step, openings));
}

/** Which way a key turns: 1, -1, or 0. @param {string} key @param {boolean} rightToLeft */
export function wayOf(key, rightToLeft = false) {
  const on = rightToLeft ? "ArrowLeft" : "ArrowRight";
  const back = rightToLeft ? "ArrowRight" : "ArrowLeft";
  if ([on, "ArrowDown", "PageDown", " ", "Enter"].includes(key)) return 1;
  return [back, "ArrowUp", "PageUp", "Backspace"].includes(key) ? -1 : 0;
}

/** Seconds as a clock shows them. @param {number} seconds */
export function clock(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}
