import { boundsOf, boxOf } from "#lib/marks.js";
import { clampTo } from "#lib/sheet.js";

/**
 * Moving a mark that is there already, and its corners; a mark never leaves the sheet.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/sheet.js").Rect} Rect
 * @typedef {import("#lib/marks.js").Mark} Mark
 */

const FEWEST = 3;

/** The corners a hand can take: a box has four of them. @param {Mark} mark @param {Point[]} points @returns {Point[]} */
export function cornersOf(mark, points) {
  if (mark !== "box" || points.length < 2) return points;
  const [one, other] = points;
  return [one, { x: other.x, y: one.y }, other, { x: one.x, y: other.y }];
}

/**
 * The corner within reach of a place, the nearest first; -1 where there is none.
 *
 * @param {Point[]} corners
 * @param {Point} at
 * @param {Point} reach how far a hand reaches, across and down
 */
export function cornerNear(corners, at, reach) {
  let found = { index: -1, away: 1 };
  for (const [index, corner] of corners.entries()) {
    const away = Math.hypot((corner.x - at.x) / reach.x, (corner.y - at.y) / reach.y);
    if (away <= found.away) found = { index, away };
  }
  return found.index;
}

/** Whether a place lies within the mark; even-odd for outlines. @param {Mark} mark @param {Point[]} points @param {Point} at */
export function isInside(mark, points, at) {
  if (mark === "point" || points.length < 2) return false;
  const corners = cornersOf(mark, points);
  let inside = false;
  for (const [index, a] of corners.entries()) {
    const b = corners[(index + 1) % corners.length];
    const crosses = a.y > at.y !== b.y > at.y;
    if (crosses && at.x < ((b.x - a.x) * (at.y - a.y)) / (b.y - a.y) + a.x)
      inside = !inside;
  }
  return inside;
}

/**
 * One corner at another place. A box that is turned over its own corner stays a box,
 * and the corner in hand is counted anew.
 *
 * @param {Mark} mark
 * @param {Point[]} points
 * @param {number} corner
 * @param {Point} to
 * @returns {{ points: Point[], corner: number }}
 */
export function withCornerAt(mark, points, corner, to) {
  if (mark !== "box")
    return { points: points.map((at, index) => (index === corner ? to : at)), corner };
  const opposite = cornersOf(mark, points)[(corner + 2) % 4];
  const turned = boxOf(opposite, to);
  const same = cornersOf(mark, turned).findIndex(
    (at) => at.x === to.x && at.y === to.y,
  );
  return { points: turned, corner: same };
}

/** The whole mark moved, as far as the sheet goes. @param {Point[]} points @param {Point} by @param {Rect} within @returns {Point[]} */
export function moved(points, by, within) {
  if (points.length === 0) return points;
  const bounds = boundsOf(points);
  const wished = { x: bounds.x + by.x, y: bounds.y + by.y };
  const room = {
    x: within.x,
    y: within.y,
    width: Math.max(within.width - bounds.width, 0),
    height: Math.max(within.height - bounds.height, 0),
  };
  const to = clampTo(wished, room);
  return points.map(({ x, y }) => ({ x: x + to.x - bounds.x, y: y + to.y - bounds.y }));
}

/** A corner more, halfway to the next. @param {Point[]} points @param {number} after @returns {Point[]} */
export function withCornerAfter(points, after) {
  const a = points[after];
  const b = points[(after + 1) % points.length];
  return points.toSpliced(after + 1, 0, { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
}

/** A corner less, as long as an outline is left. @param {Point[]} points @param {number} corner @returns {Point[]} */
export function withoutCorner(points, corner) {
  return points.length > FEWEST ? points.toSpliced(corner, 1) : points;
}
