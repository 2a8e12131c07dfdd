import { boxOf, isWhole, thinned } from "#lib/marks.js";
import {
  cornerNear,
  cornersOf,
  isInside,
  moved,
  withCornerAfter,
  withCornerAt,
  withoutCorner,
} from "#lib/reshaping.js";
import { clampTo } from "#lib/sheet.js";

/**
 * Making a mark and mending it, step by step: by dragging, by clicks alone, or with the
 * pencil tip moved by keys. Every step gives a new tracing.
 *
 * A mark that is done is mended: a press on a corner takes that corner in hand, a press
 * inside takes the whole mark, the next press puts it; a press elsewhere begins anew.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/sheet.js").Rect} Rect
 * @typedef {import("#lib/marks.js").Mark} Mark
 * @typedef {{ corner: number, from: Point }} Held the corner in hand, -1 for the whole
 *   mark, and where it was taken
 * @typedef {{ mark: Mark, points: Point[], tip: Point, closed: boolean,
 *   held: Held | null, down: { at: Point, points: Point[] } | null, moved: boolean,
 *   within: Rect }} Tracing
 */

const MOST_POINTS = 400;
const WHOLE = -1;
const NOWHERE = { x: 0, y: 0 };

/** @param {Mark} mark @param {Point[]} points @param {Point} tip @param {Rect} within @returns {Tracing} */
export function begun(mark, points, tip, within) {
  return {
    mark,
    points,
    tip: clampTo(tip, within),
    closed: isOutline(mark) && isWhole(mark, points),
    held: null,
    down: null,
    moved: false,
    within,
  };
}

/** @param {Mark} mark */
function isOutline(mark) {
  return mark === "loop" || mark === "polygon";
}

/** Whether the mark is there and can be mended. @param {Tracing} tracing */
export function isDone({ mark, points, closed }) {
  return mark === "box" ? points.length === 2 : isOutline(mark) && closed;
}

/** What a press takes in hand. @param {Tracing} now @param {Point} at @param {Point} reach @returns {Held | null} */
function takenAt(now, at, reach) {
  if (!isDone(now)) return null;
  const corner = cornerNear(cornersOf(now.mark, now.points), at, reach);
  if (corner >= 0) return { corner, from: at };
  return isInside(now.mark, now.points, at) ? { corner: WHOLE, from: at } : null;
}

/** What is in hand, put at a place. @param {Tracing} now @param {Held} held @param {Point[]} points @param {Point} to @returns {Tracing} */
function put(now, held, points, to) {
  if (held.corner === WHOLE) {
    const by = { x: to.x - held.from.x, y: to.y - held.from.y };
    return { ...now, points: moved(points, by, now.within) };
  }
  const mended = withCornerAt(now.mark, points, held.corner, to);
  return { ...now, points: mended.points };
}

/** @param {Tracing} now @param {Point} at @returns {Tracing} */
export function pressed(now, at) {
  const tip = clampTo(at, now.within);
  return { ...now, tip, down: { at: tip, points: now.points }, moved: false };
}

/**
 * @param {Tracing} now
 * @param {Point} at
 * @param {Point} slack how far a press may slip and still be a click
 * @param {Point} reach
 * @returns {Tracing}
 */
export function dragged(now, at, slack, reach) {
  const { mark, down } = now;
  if (!down || !mark) return now;
  const tip = clampTo(at, now.within);
  const slip = Math.hypot((tip.x - down.at.x) / slack.x, (tip.y - down.at.y) / slack.y);
  if (!now.moved && slip < 1) return { ...now, tip };
  const held = now.held ?? (now.moved ? null : takenAt(now, down.at, reach ?? NOWHERE));
  if (held) return put({ ...now, tip, moved: true, held }, held, down.points, tip);
  return drawnTo(now, down.at, tip);
}

/** @param {Tracing} now @param {Point} from @param {Point} tip @returns {Tracing} */
function drawnTo(now, from, tip) {
  const start = now.moved ? now.points : [from];
  const line = start.length < MOST_POINTS * 4 ? [...start, tip] : start;
  const points = { "": [], point: [tip], box: [from, tip], loop: line, polygon: [tip] };
  // A polygon is set corner by corner; a drag sets the one it ends at.
  if (now.mark === "polygon") return { ...now, tip };
  return { ...now, tip, moved: true, closed: false, points: points[now.mark] };
}

/**
 * @param {Tracing} now
 * @param {Point} tolerance how much a loop may be thinned
 * @returns {Tracing}
 */
export function released(now, tolerance) {
  if (!now.moved) return { ...now, down: null };
  if (now.held) return { ...now, down: null, held: null, moved: false };
  let { points, closed } = now;
  if (now.mark === "box") points = boxOf(points[0], points[1]);
  if (now.mark === "loop") {
    points = thinned(points, tolerance.x).slice(0, MOST_POINTS);
    closed = isWhole("loop", points);
  }
  return { ...now, points, closed, down: null, moved: false };
}

/** Set a point, as a click or Enter does. @param {Tracing} now @param {Point} at @param {Point} reach @returns {Tracing} */
export function set(now, at, reach) {
  const tip = clampTo(at, now.within);
  const still = { ...now, tip, down: null, moved: false };
  if (now.held) return { ...put(still, now.held, now.points, tip), held: null };
  const held = takenAt(now, tip, reach);
  if (held) return { ...still, held };
  return added(still, tip, reach);
}

/** @param {Tracing} now @param {Point} tip @param {Point} reach @returns {Tracing} */
function added(now, tip, reach) {
  const { mark, points } = now;
  if (mark === "") return now;
  if (mark === "point") return { ...now, points: [tip] };
  if (mark === "box")
    return { ...now, points: points.length === 1 ? boxOf(points[0], tip) : [tip] };
  if (now.closed) return { ...now, closed: false, points: [tip] };
  const ends = [points[0], points[points.length - 1]].filter(Boolean);
  if (cornerNear(ends, tip, reach) < 0)
    return { ...now, points: [...points, tip].slice(0, MOST_POINTS) };
  return shut(now);
}

/** Close an outline. @param {Tracing} now @returns {Tracing} */
export function shut(now) {
  return { ...now, closed: isOutline(now.mark) && isWhole(now.mark, now.points) };
}

/** Move the pencil tip, and with it what is in hand. @param {Tracing} now @param {Point} by @returns {Tracing} */
export function nudged(now, by) {
  const to = { x: now.tip.x + by.x, y: now.tip.y + by.y };
  const tip = clampTo(to, now.within);
  const { held } = now;
  if (!held) return { ...now, tip };
  if (held.corner === WHOLE)
    return put({ ...now, tip, held: { ...held, from: tip } }, held, now.points, tip);
  const { points, corner } = withCornerAt(now.mark, now.points, held.corner, tip);
  return { ...now, tip, points, held: { corner, from: tip } };
}

/** Take the next corner in hand, or the one before. @param {Tracing} now @param {number} step @returns {Tracing} */
export function nextCorner(now, step) {
  if (!isDone(now)) return now;
  const corners = cornersOf(now.mark, now.points);
  const at = now.held && now.held.corner >= 0 ? now.held.corner : step > 0 ? -1 : 0;
  const corner = (at + step + corners.length) % corners.length;
  return { ...now, tip: corners[corner], held: { corner, from: corners[corner] } };
}

/** Take the whole mark in hand. @param {Tracing} now @returns {Tracing} */
export function wholeInHand(now) {
  return isDone(now) ? { ...now, held: { corner: WHOLE, from: now.tip } } : now;
}

/** One corner more after the one in hand. @param {Tracing} now @returns {Tracing} */
export function cornerMore(now) {
  if (!now.closed || now.points.length >= MOST_POINTS) return now;
  const after =
    now.held && now.held.corner >= 0 ? now.held.corner : now.points.length - 1;
  const points = withCornerAfter(now.points, after);
  const tip = points[after + 1];
  return { ...now, points, tip, held: { corner: after + 1, from: tip } };
}

/** The corner in hand taken out. @param {Tracing} now @returns {Tracing} */
export function cornerLess(now) {
  if (!now.closed || !now.held || now.held.corner < 0) return now;
  return { ...now, points: withoutCorner(now.points, now.held.corner), held: null };
}

/** Take the last step back. @param {Tracing} now @returns {Tracing} */
export function tookBack(now) {
  if (now.closed && now.mark === "polygon")
    return { ...now, closed: false, held: null };
  const points = now.closed ? [] : now.points.slice(0, -1);
  return { ...now, points, closed: false, held: null, moved: false };
}

/** What is still to do, in words. @param {Tracing} now */
export function stillToDo(now) {
  const { mark, points, held } = now;
  if (mark === "") return "";
  if (held?.corner === WHOLE) return "The whole mark is in hand: set where it goes.";
  if (held) {
    const many = cornersOf(mark, points).length;
    return `Corner ${held.corner + 1} of ${many} is in hand: set where it goes.`;
  }
  if (mark === "point")
    return points.length > 0 ? "The place is set." : "Set the place.";
  if (mark === "box" && !isDone(now))
    return points.length === 1 ? "Set the opposite corner." : "Set one corner.";
  if (isDone(now)) return `${DONE[mark]} Press a corner or its middle to move it.`;
  if (!isWhole(mark, points)) return `Set point ${points.length + 1} of at least 3.`;
  return `${points.length} points; set more, or the last one again to close it.`;
}

const DONE = {
  box: "The box is set.",
  loop: "The loop is closed.",
  polygon: "The polygon is closed.",
};
