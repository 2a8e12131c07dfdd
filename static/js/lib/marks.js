/**
 * Marks on the sheet: a point, a box by two corners, a loop or a polygon by its
 * points.
 *
 * @typedef {import("./sheet.js").Point} Point
 * @typedef {import("./sheet.js").Rect} Rect
 * @typedef {"" | "point" | "box" | "loop" | "polygon"} Mark
 */

/** @param {Point[]} points @returns {Rect} */
export function boundsOf(points) {
  const xs = points.map((point) => point.x);
  const ys = points.map((point) => point.y);
  const x = Math.min(...xs);
  const y = Math.min(...ys);
  return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
}

/** @param {Point} a @param {Point} b @returns {Point[]} */
export function boxOf(a, b) {
  const bounds = boundsOf([a, b]);
  return [
    { x: bounds.x, y: bounds.y },
    { x: bounds.x + bounds.width, y: bounds.y + bounds.height },
  ];
}

/**
 * Points from a field's text, "x,y x,y"; what cannot be read is left out.
 *
 * @param {string} text
 * @returns {Point[]}
 */
export function readPoints(text) {
  return text
    .trim()
    .split(/\s+/)
    .map((pair) => pair.split(",").map(Number))
    .filter((pair) => pair.length === 2 && pair.every(Number.isFinite))
    .map(([x, y]) => ({ x, y }));
}

/** @param {Point[]} points @returns {string} */
export function writePoints(points) {
  return points.map((at) => `${at.x.toFixed(5)},${at.y.toFixed(5)}`).join(" ");
}

/** Whether enough points are set. @param {Mark} mark @param {Point[]} points */
export function isWhole(mark, points) {
  const least = { "": 0, point: 1, box: 2, loop: 3, polygon: 3 };
  return points.length >= least[mark];
}

/**
 * Thin a freehand line to the points that carry its shape.
 *
 * By Ramer (1972) and Douglas and Peucker (1973): a point stays when it lies further than
 * the tolerance from the line between its kept neighbours.
 *
 * @param {Point[]} points
 * @param {number} tolerance
 * @returns {Point[]}
 */
export function thinned(points, tolerance) {
  if (points.length < 3) return points;
  const kept = new Set([0, points.length - 1]);
  const spans = [[0, points.length - 1]];
  while (spans.length > 0) {
    const [from, to] = /** @type {number[]} */ (spans.pop());
    const far = farthest(points, from, to);
    if (far.distance <= tolerance) continue;
    kept.add(far.index);
    spans.push([from, far.index], [far.index, to]);
  }
  return points.filter((_, index) => kept.has(index));
}

/** @param {Point[]} points @param {number} from @param {number} to */
function farthest(points, from, to) {
  let found = { index: from, distance: 0 };
  for (let index = from + 1; index < to; index += 1) {
    const distance = fromLine(points[index], points[from], points[to]);
    if (distance > found.distance) found = { index, distance };
  }
  return found;
}

/** @param {Point} point @param {Point} a @param {Point} b */
function fromLine(point, a, b) {
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  if (length === 0) return Math.hypot(point.x - a.x, point.y - a.y);
  const cross = (b.x - a.x) * (a.y - point.y) - (a.x - point.x) * (b.y - a.y);
  return Math.abs(cross) / length;
}

/**
 * The outline as an SVG path; a box's strokes overshoot its corners, as a pencil does.
 *
 * @param {Mark} mark
 * @param {Point[]} at points on the screen
 * @param {number} over how far the strokes overshoot
 */
export function outline(mark, at, over) {
  if (mark === "box" && at.length === 2) return boxStrokes(at, over);
  if (mark === "point" && at.length > 0) return caret(at[0], over * 3);
  if (mark === "loop" && at.length > 1) return loopStroke(at);
  if (mark === "polygon" && at.length > 1)
    return `M${at.map(({ x, y }) => `${n(x)} ${n(y)}`).join("L")}Z`;
  return "";
}

/** @param {Point[]} at @param {number} over */
function boxStrokes(at, over) {
  const { x, y, width, height } = boundsOf(at);
  const right = x + width;
  const foot = y + height;
  return [
    `M${n(x - over)} ${n(y)}H${n(right + over)}`,
    `M${n(right)} ${n(y - over)}V${n(foot + over)}`,
    `M${n(right + over)} ${n(foot)}H${n(x - over)}`,
    `M${n(x)} ${n(foot + over)}V${n(y - over)}`,
  ].join("");
}

/** The proofreader's caret, its tip on the place. @param {Point} at @param {number} arm */
function caret(at, arm) {
  const foot = n(at.y + arm * 1.4);
  return `M${n(at.x - arm)} ${foot}L${n(at.x)} ${n(at.y)}L${n(at.x + arm)} ${foot}`;
}

/** A closed stroke through the middles, so that corners come out round. @param {Point[]} at */
function loopStroke(at) {
  if (at.length < 3) return `M${n(at[0].x)} ${n(at[0].y)}L${n(at[1].x)} ${n(at[1].y)}`;
  const middle = (/** @type {number} */ index) => {
    const a = at[index % at.length];
    const b = at[(index + 1) % at.length];
    return `${n((a.x + b.x) / 2)} ${n((a.y + b.y) / 2)}`;
  };
  const curves = at.map((_, index) => {
    const corner = at[(index + 1) % at.length];
    return `Q${n(corner.x)} ${n(corner.y)} ${middle(index + 1)}`;
  });
  return `M${middle(0)}${curves.join("")}Z`;
}

/** @param {number} value */
function n(value) {
  return Math.round(value * 10) / 10;
}
