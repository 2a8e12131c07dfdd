import * as tracing from "#lib/tracing.js";

/**
 * What words and keys do to a mark that is being made or mended.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/tracing.js").Tracing} Tracing
 */

/** @type {Record<string, (now: Tracing) => Tracing>} */
export const MENDS = {
  corner: (now) => tracing.nextCorner(now, 1),
  "corner-before": (now) => tracing.nextCorner(now, -1),
  whole: tracing.wholeInHand,
  more: tracing.cornerMore,
  less: tracing.cornerLess,
  close: tracing.shut,
  back: tracing.tookBack,
};

/** @type {Record<string, keyof typeof MENDS>} */
export const KEYS = {
  c: "corner",
  C: "corner-before",
  v: "whole",
  i: "more",
  x: "less",
  k: "close",
  Backspace: "back",
};

/** How the arrows move the pencil tip. @type {Record<string, Point>} */
export const MOVES = {
  ArrowLeft: { x: -1, y: 0 },
  ArrowRight: { x: 1, y: 0 },
  ArrowUp: { x: 0, y: -1 },
  ArrowDown: { x: 0, y: 1 },
};
