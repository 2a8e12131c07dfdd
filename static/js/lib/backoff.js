/** How long to wait before asking again: doubling to half a minute, with jitter. */

const FIRST_MS = 500;
const MOST_MS = 30_000;

/**
 * @param {number} attempt 0 for the first wait
 * @param {number} chance between 0 and 1, spreads people who lost the line together
 * @returns {number} milliseconds
 */
export function waitBefore(attempt, chance) {
  const full = Math.min(MOST_MS, FIRST_MS * 2 ** Math.min(attempt, 16));
  return Math.round(full * (0.5 + chance / 2));
}
