/**
 * True printed size: a millimetre of the sheet as long as a millimetre on the desk.
 *
 * A screen does not tell how large its pixels are, so somebody holds a card or a ruler
 * against it once. Kept as pixels of the device, which no zoom of the page changes.
 *
 * @typedef {{ name: string, mm: number }} Gauge
 */

/** The long edge of a bank card: 85,60 mm, ISO/IEC 7810 ID-1. */
export const CARD_MM = 85.6;
export const RULER_MM = 100;
const MM_PER_INCH = 25.4;
const CSS_PER_INCH = 96;

/** What a page assumes where nobody measured (CSS: 96 pixels an inch). */
export const ASSUMED = CSS_PER_INCH / MM_PER_INCH;

/**
 * @param {number} css pixels of the page that cover the gauge
 * @param {number} mm the gauge's length
 * @param {number} ratio device pixels for one of the page
 * @returns {number} device pixels a millimetre
 */
export function measured(css, mm, ratio) {
  return (css * ratio) / mm;
}

/** Pixels of the page a millimetre. @param {number} device @param {number} ratio */
export function cssPerMm(device, ratio) {
  return device / ratio;
}

/** A kept figure that can be believed: between 25 and 1200 pixels an inch. @param {unknown} kept @returns {number} or 0 */
export function believed(kept) {
  const device = Number(kept);
  const least = 25 / MM_PER_INCH;
  const most = 1200 / MM_PER_INCH;
  return device >= least && device <= most ? device : 0;
}

/**
 * How large the sheet is shown, in words: per cent of true size.
 *
 * @param {number} pixelsPerMm of the page, as it is shown now
 * @param {number} truePerMm as it would be at true size
 */
export function shownAs(pixelsPerMm, truePerMm) {
  const share = (100 * pixelsPerMm) / truePerMm;
  return share < 10 ? `${share.toFixed(1)} %` : `${Math.round(share)} %`;
}
