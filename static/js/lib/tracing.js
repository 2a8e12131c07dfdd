import { boxOf, isWhole, thinned } from "#lib/marks.js";
import { clampTo } from "#lib/sheet.js";

/**
 * Making a mark, step by step: by dragging, by clicks alone, or with the pencil tip
 * moved by keys. Every step gives a new tracing.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/sheet.js").Rect} Rect
 * @typedef {import("#lib/marks.js").Mark} Mark
 * @typedef {{ mark: Mark, points: Point[], tip: Point, down: Point | null,
 *   moved: boolean, within: Rect }} Tracing
 */

const MOST_POINTS = 400;

/** @param {Mark} mark @param {Point[]} points @param {Point} tip @param {Rect} within @returns {Tracing} */
export function begun(mark, points, tip, within) {
  return { mark, points, tip: clampTo(tip, within), down: null, moved: false, within };
}

/** @param {Tracing} tracing @param {Point} at @returns {Tracing} */
export function pressed(tracing, at) {
  const tip = clampTo(at, tracing.within);
  return { ...tracing, tip, down: tip, moved: false };
}

/**
 * @param {Tracing} tracing
 * @param {Point} at
 * @param {number} slack how far a press may slip and still be a click
 * @returns {Tracing}
 */
export function dragged(tracing, at, slack) {
  const { mark, down, points } = tracing;
  if (!down || !mark) return tracing;
  const tip = clampTo(at, tracing.within);
  if (!tracing.moved && Math.hypot(tip.x - down.x, tip.y - down.y) < slack)
    return { ...tracing, tip };
  const start = tracing.moved ? points : [down];
  const now = {
    point: [tip],
    box: [down, tip],
    loop: start.length < MOST_POINTS * 4 ? [...start, tip] : start,
  };
  return { ...tracing, tip, moved: true, points: now[mark] };
}

/**
 * @param {Tracing} tracing
 * @param {number} tolerance how much a loop may be thinned
 * @returns {Tracing}
 */
export function released(tracing, tolerance) {
  const { mark, moved } = tracing;
  if (!moved) return { ...tracing, down: null };
  let { points } = tracing;
  if (mark === "box") points = boxOf(points[0], points[1]);
  if (mark === "loop") points = thinned(points, tolerance).slice(0, MOST_POINTS);
  return { ...tracing, points, down: null };
}

/** Set a point, as a click or Enter does. @param {Tracing} tracing @param {Point} at @returns {Tracing} */
export function set(tracing, at) {
  const tip = clampTo(at, tracing.within);
  const { mark, points, moved } = tracing;
  const begin = moved || points.length === 0;
  /** @type {Record<Mark, () => Point[]>} */
  const now = {
    "": () => [],
    point: () => [tip],
    box: () => (points.length === 1 && !moved ? boxOf(points[0], tip) : [tip]),
    loop: () => (begin ? [tip] : [...points, tip].slice(0, MOST_POINTS)),
  };
  return { ...tracing, tip, down: null, moved: false, points: now[mark]() };
}

/** Move the pencil tip. @param {Tracing} tracing @param {Point} by @returns {Tracing} */
export function nudged(tracing, by) {
  const to = { x: tracing.tip.x + by.x, y: tracing.tip.y + by.y };
  return { ...tracing, tip: clampTo(to, tracing.within) };
}

/** Take the last point back. @param {Tracing} tracing @returns {Tracing} */
export function tookBack(tracing) {
  const points = tracing.moved ? [] : tracing.points.slice(0, -1);
  return { ...tracing, points, moved: false };
}

/** What is still to do, in words. @param {Tracing} tracing */
export function stillToDo({ mark, points }) {
  if (mark === "") return "";
  if (mark === "point")
    return points.length > 0 ? "The place is set." : "Set the place.";
  if (mark === "box") {
    const says = ["Set one corner.", "Set the opposite corner.", "The box is set."];
    return says[Math.min(points.length, 2)];
  }
  if (!isWhole(mark, points)) return `Set point ${points.length + 1} of at least 3.`;
  return `The loop is closed through ${points.length} points; more may be set.`;
}
