/**
 * The sheet: (0,0) is the trim's top left, (1,1) its bottom right.
 *
 * A viewer counts both ways in widths of the trim, so y is stretched by the sheet's
 * proportion: `ratio` is height over width.
 *
 * @typedef {{ x: number, y: number }} Point
 * @typedef {{ x: number, y: number, width: number, height: number }} Rect
 * @typedef {{ widthMm: number, heightMm: number, bleedMm: number, safeMm: number,
 *   gutterMm: number, double: boolean }} Format
 */

/** @param {Format} format */
export function ratioOf(format) {
  return format.heightMm / format.widthMm;
}

/** @param {Point} point @param {number} ratio @returns {Point} */
export function toView(point, ratio) {
  return { x: point.x, y: point.y * ratio };
}

/** @param {Point} point @param {number} ratio @returns {Point} */
export function toSheet(point, ratio) {
  return { x: point.x, y: point.y / ratio };
}

/** @param {Rect} rect @param {number} ratio @returns {Rect} */
export function rectToView(rect, ratio) {
  return {
    x: rect.x,
    y: rect.y * ratio,
    width: rect.width,
    height: rect.height * ratio,
  };
}

/** @param {Point} point @param {Format} format @returns {Point} */
export function toMm(point, format) {
  return { x: point.x * format.widthMm, y: point.y * format.heightMm };
}

/** @param {Point} mm @param {Format} format @returns {Point} */
export function fromMm(mm, format) {
  return { x: mm.x / format.widthMm, y: mm.y / format.heightMm };
}

/**
 * The trim grown (or, below nought, shrunk) by so many millimetres.
 *
 * @param {Format} format
 * @param {number} mm
 * @returns {Rect}
 */
export function grown(format, mm) {
  const x = mm / format.widthMm;
  const y = mm / format.heightMm;
  return { x: -x, y: -y, width: 1 + 2 * x, height: 1 + 2 * y };
}

/** @param {Format} format @returns {Rect} */
export function bledSheet(format) {
  return grown(format, format.bleedMm);
}

/** @param {Point} point @param {Rect} rect @returns {Point} */
export function clampTo(point, rect) {
  return {
    x: Math.min(Math.max(point.x, rect.x), rect.x + rect.width),
    y: Math.min(Math.max(point.y, rect.y), rect.y + rect.height),
  };
}

/**
 * The guides of a format, as rectangles on the sheet; a single page has no gutter.
 *
 * @param {Format} format
 * @returns {{ kind: string, rect: Rect }[]}
 */
export function guidesOf(format) {
  const found = [
    { kind: "trim", rect: grown(format, 0) },
    { kind: "bleed", rect: bledSheet(format) },
    { kind: "safe", rect: grown(format, -format.safeMm) },
  ];
  if (format.double) {
    const half = format.gutterMm / format.widthMm;
    const rect = { x: 0.5 - half, y: 0, width: 2 * half, height: 1 };
    found.push({ kind: "gutter", rect });
  }
  return found;
}
