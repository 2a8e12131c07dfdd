import { toMm } from "#lib/sheet.js";

/**
 * What is in view, in words, for who cannot see it.
 *
 * @typedef {import("#lib/sheet.js").Rect} Rect
 */

/** @param {Rect} a @param {Rect} b */
export function meets(a, b) {
  return (
    a.x <= b.x + b.width &&
    b.x <= a.x + a.width &&
    a.y <= b.y + b.height &&
    b.y <= a.y + a.height
  );
}

/**
 * @param {Rect} seen the part of the sheet in view
 * @param {import("#lib/sheet.js").Format} format
 * @param {string[]} labels of the notes in view
 */
export function inView(seen, format, labels) {
  const from = toMm(seen, format);
  const to = toMm({ x: seen.x + seen.width, y: seen.y + seen.height }, format);
  const mm = (/** @type {number} */ value) => value.toFixed(0);
  const notes = labels.length > 0 ? `Notes: ${labels.join(", ")}.` : "No note.";
  return (
    `In view: ${mm(from.x)} to ${mm(to.x)} mm from the left, ` +
    `${mm(from.y)} to ${mm(to.y)} mm down. ${notes}`
  );
}
