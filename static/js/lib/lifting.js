/** Lifting one sheet off another: only by a person's press, never faster than this. */

export const LEAST_HOLD_MS = 500;

/**
 * Whether a press may lift now. Two lifts a second at the very most keep the view
 * under three flashes a second (WCAG 2.2, success criterion 2.3.1).
 *
 * @param {number} now milliseconds
 * @param {number} lifted when the picture changed last
 */
export function mayLift(now, lifted) {
  return now - lifted >= LEAST_HOLD_MS;
}
