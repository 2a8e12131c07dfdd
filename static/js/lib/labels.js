/**
 * Where pencilled labels stand, so that none covers another or lies on a mark.
 *
 * @typedef {import("./sheet.js").Point} Point
 * @typedef {import("./sheet.js").Rect} Rect
 * @typedef {{ key: string, box: Rect, width: number, height: number,
 *   outline?: Point[] }} Wish
 * @typedef {{ key: string, rect: Rect, from: Point, to: Point }} Placed
 */

const REACH = [14, 30, 54, 84];

/**
 * Place each label beside its mark, the first in reading order first.
 *
 * @param {Wish[]} wishes boxes of the marks and sizes of the labels, in screen pixels
 * @param {Rect} view the part of the screen that shows the sheet
 * @returns {Placed[]} only labels whose marks are in view
 */
export function placeLabels(wishes, view) {
  /** @type {Placed[]} */
  const placed = [];
  for (const wish of wishes) {
    if (!meets(wish.box, view)) continue;
    const free = places(wish).filter(
      (rect) => inside(rect, view) && placed.every((other) => !meets(rect, other.rect)),
    );
    const clear = free.find((rect) => wishes.every(({ box }) => !cuts(box, rect)));
    const rect = clear ?? free[0] ?? pulledIn(places(wish)[0], view);
    placed.push({ key: wish.key, rect, ...leader(wish, rect) });
  }
  return placed;
}

/** @param {Wish} wish @returns {Rect[]} */
function places(wish) {
  const { box, width, height } = wish;
  const right = box.x + box.width;
  const foot = box.y + box.height;
  return REACH.flatMap((reach) =>
    [
      { x: right + reach, y: box.y - reach - height },
      { x: box.x - reach - width, y: box.y - reach - height },
      { x: right + reach, y: foot + reach },
      { x: box.x - reach - width, y: foot + reach },
      { x: right + reach, y: box.y + box.height / 2 - height / 2 },
      { x: box.x - reach - width, y: box.y + box.height / 2 - height / 2 },
      { x: box.x + box.width / 2 - width / 2, y: box.y - reach - height },
      { x: box.x + box.width / 2 - width / 2, y: foot + reach },
    ].map((corner) => ({ ...corner, width, height })),
  );
}

/** The leader line: from the mark's nearest place to the label's edge. @param {Wish} wish @param {Rect} rect */
function leader({ box, outline = [] }, rect) {
  const middle = { x: rect.x + rect.width / 2, y: rect.y + rect.height / 2 };
  const away = (/** @type {Point} */ at) =>
    Math.hypot(at.x - middle.x, at.y - middle.y);
  const [first] = outline.toSorted((one, other) => away(one) - away(other));
  const from = first ?? nearest(middle, box);
  return { from, to: nearest(from, rect) };
}

/** Whether a mark's edge runs through the label. @param {Rect} box @param {Rect} rect */
function cuts(box, rect) {
  return meets(box, rect) && !inside(rect, box);
}

/** @param {Point} point @param {Rect} rect @returns {Point} */
function nearest(point, rect) {
  return {
    x: Math.min(Math.max(point.x, rect.x), rect.x + rect.width),
    y: Math.min(Math.max(point.y, rect.y), rect.y + rect.height),
  };
}

/** @param {Rect} rect @param {Rect} view @returns {Rect} */
function pulledIn(rect, view) {
  return {
    ...rect,
    x: Math.min(Math.max(rect.x, view.x), view.x + view.width - rect.width),
    y: Math.min(Math.max(rect.y, view.y), view.y + view.height - rect.height),
  };
}

/** @param {Rect} a @param {Rect} b */
function meets(a, b) {
  return (
    a.x <= b.x + b.width &&
    b.x <= a.x + a.width &&
    a.y <= b.y + b.height &&
    b.y <= a.y + a.height
  );
}

/** @param {Rect} rect @param {Rect} view */
function inside(rect, view) {
  return (
    rect.x >= view.x &&
    rect.y >= view.y &&
    rect.x + rect.width <= view.x + view.width &&
    rect.y + rect.height <= view.y + view.height
  );
}
