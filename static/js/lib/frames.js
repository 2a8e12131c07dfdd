/**
 * Frames on a storyboard sheet, in fractions of the sheet.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {{ item: string, corners: Point[] }} Frame
 */

/** Twice the area, positive when the corners go clockwise on a screen. @param {Point[]} corners */
function twiceArea(corners) {
  return corners.reduce((sum, a, index) => {
    const b = corners[(index + 1) % corners.length];
    return sum + a.x * b.y - b.x * a.y;
  }, 0);
}

/**
 * Four taps in any order as corners, clockwise from top left.
 *
 * @param {Point[]} taps
 * @returns {Point[]}
 */
export function goingRound(taps) {
  const x = taps.reduce((sum, tap) => sum + tap.x, 0) / taps.length;
  const y = taps.reduce((sum, tap) => sum + tap.y, 0) / taps.length;
  const round = [...taps].sort(
    (a, b) => Math.atan2(a.y - y, a.x - x) - Math.atan2(b.y - y, b.x - x),
  );
  const sums = round.map((tap) => tap.x + tap.y);
  const first = sums.indexOf(Math.min(...sums));
  return [...round.slice(first), ...round.slice(0, first)];
}

/** Whether four corners go clockwise round one frame without crossing. @param {Point[]} corners */
export function goesRound(corners) {
  if (corners.length !== 4) return false;
  return corners.every((_, at) => {
    const three = [0, 1, 2].map((step) => corners[(at + step) % 4]);
    return twiceArea(three) > 0;
  });
}

/** The middle of a frame, where its number stands. @param {Point[]} corners @returns {Point} */
export function middleOf(corners) {
  const sum = corners.reduce((s, c) => ({ x: s.x + c.x, y: s.y + c.y }), {
    x: 0,
    y: 0,
  });
  return { x: sum.x / corners.length, y: sum.y / corners.length };
}

/**
 * Move a frame earlier or later; the items stay where they are in reading order, so each
 * frame takes the item of its new place.
 *
 * @param {Frame[]} frames @param {number} from @param {number} to
 * @returns {Frame[]}
 */
export function inOrder(frames, from, to) {
  if (to < 0 || to >= frames.length) return frames;
  const corners = frames.map((frame) => frame.corners);
  corners.splice(to, 0, ...corners.splice(from, 1));
  return frames.map((frame, at) => ({ item: frame.item, corners: corners[at] }));
}

/**
 * Take a frame away; those after it move up by one item, and the last item is free.
 *
 * @param {Frame[]} frames @param {number} at
 * @returns {Frame[]}
 */
export function without(frames, at) {
  const corners = frames.map((frame) => frame.corners).toSpliced(at, 1);
  return corners.map((one, index) => ({ item: frames[index].item, corners: one }));
}

/**
 * Add a frame; it is the first item in page order that no other frame is.
 *
 * @param {Frame[]} frames @param {Point[]} corners @param {string[]} items
 * @returns {Frame[]}
 */
export function withOne(frames, corners, items) {
  const taken = new Set(frames.map((frame) => frame.item));
  const item = items.find((key) => key && !taken.has(key)) ?? "";
  return [...frames, { item, corners }];
}
