/**
 * Which sizes of a laid picture a viewer fetches: the still picture first, then only the
 * levels of the pyramid that show more than it does.
 *
 * @typedef {{ width: number, height: number, tile: number, levels: number }} Pyramid
 * @typedef {{ scale: number, tile: number, level: number }} Size `level` is the
 *   pyramid's own, -1 for the still
 */

const STILL_WIDTH = 1200;
const WORTH = 1.05;

/**
 * @param {Pyramid} of level 0 is the smallest, each next one twice as large
 * @returns {Size[]} smallest first
 */
export function sizesOf({ width, height, tile, levels }) {
  const still = Math.min(1, STILL_WIDTH / width);
  const larger = Array.from({ length: levels }, (_, level) => ({
    scale: 1 / 2 ** (levels - 1 - level),
    tile,
    level,
  })).filter(({ scale }) => scale > still * WORTH);
  if (larger.length === 0) return [{ scale: 1, tile, level: levels - 1 }];
  const whole = Math.ceil(Math.max(width, height) * still) + 1;
  return [{ scale: still, tile: whole, level: -1 }, ...larger];
}
