import { readPoints } from "#lib/marks.js";

/**
 * A loop as a form's field holds it: corners in per cent, "20,30 45.5,31 40,60".
 *
 * @typedef {import("./sheet.js").Point} Point
 */

/** @param {string} typed @returns {Point[]} fractions of the sheet */
export function cornersOf(typed) {
  return readPoints(typed).map(({ x, y }) => ({ x: x / 100, y: y / 100 }));
}

/** @param {Point[]} corners @returns {string} */
export function typedOf(corners) {
  return corners.map(({ x, y }) => `${short(x * 100)},${short(y * 100)}`).join(" ");
}

/** @param {number} value */
function short(value) {
  return String(Math.round(value * 100) / 100);
}

const STEPS = /** @type {Record<string, [number, number]>} */ ({
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
});

/**
 * Where the cross stands after a key; the same place for any other key.
 *
 * @param {Point} at
 * @param {string} key
 * @param {boolean} finer
 * @returns {Point}
 */
export function stepped(at, key, finer) {
  const [across, down] = STEPS[key] ?? [0, 0];
  const by = finer ? 0.002 : 0.01;
  return { x: at.x + across * by, y: at.y + down * by };
}
