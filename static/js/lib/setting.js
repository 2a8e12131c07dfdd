/**
 * Setting words in their type box at a true size, and the folded gutter's shade.
 *
 * @typedef {import("#lib/sheet.js").Rect} Rect
 * @typedef {import("#lib/sheet.js").Format} Format
 */

const MM_PER_POINT = 25.4 / 72;

/** A length in points as pixels of the screen. @param {number} points @param {number} pixelsPerMm */
export function pixelsOf(points, pixelsPerMm) {
  return points * MM_PER_POINT * pixelsPerMm;
}

/**
 * Words shared over the type boxes: a paragraph a box where there are as many, else all
 * in the first.
 *
 * @param {string} words
 * @param {number} boxes
 * @returns {string[]} one a box, "" where nothing is left
 */
export function shared(words, boxes) {
  if (boxes === 0) return [];
  const paragraphs = words.split(/\n\s*\n/).map((one) => one.trim());
  const first = paragraphs.length > boxes || boxes === 1 ? [words.trim()] : paragraphs;
  return Array.from({ length: boxes }, (_, index) => first[index] ?? "");
}

/**
 * The shade of a fold: stops across the gutter band, darkest in the fold itself, gone
 * where the page lies flat (common practice, an estimate).
 *
 * @param {Format} format
 * @returns {{ rect: Rect, stops: { at: number, dark: number }[] } | null} null on a single page
 */
export function foldOf(format) {
  if (!format.double) return null;
  const half = format.gutterMm / format.widthMm;
  const stops = [-1, -0.6, -0.3, -0.1, 0, 0.1, 0.3, 0.6, 1].map((at) => ({
    at: (at + 1) / 2,
    dark: Math.round(55 * (1 - Math.abs(at)) ** 2) / 100,
  }));
  return { rect: { x: 0.5 - half, y: 0, width: 2 * half, height: 1 }, stops };
}

/** How far a squint blurs: about a hundredth of the page's width. @param {number} pixelsPerMm @param {Format} format */
export function squintPixels(pixelsPerMm, format) {
  const page = format.double ? format.widthMm / 2 : format.widthMm;
  return Math.max(0.5, pixelsPerMm * page * 0.012);
}
