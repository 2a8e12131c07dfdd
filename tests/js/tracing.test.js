import assert from "node:assert/strict";
import { test } from "node:test";
import * as tracing from "#lib/tracing.js";

const WITHIN = { x: -0.01, y: -0.02, width: 1.02, height: 1.04 };
const MIDDLE = { x: 0.5, y: 0.5 };
const SLACK = { x: 0.01, y: 0.01 };
const REACH = { x: 0.02, y: 0.04 };
/** @param {import("#lib/marks.js").Mark} mark */
const begun = (mark) => tracing.begun(mark, [], MIDDLE, WITHIN);
/** @param {import("#lib/tracing.js").Tracing} now @param {{x: number, y: number}[]} places */
const clicked = (now, ...places) =>
  places.reduce((so, at) => tracing.set(so, at, REACH), now);
/** @param {import("#lib/tracing.js").Tracing} now @param {{x: number, y: number}[]} places */
const swept = (now, ...places) => {
  const [first, ...rest] = places;
  const down = tracing.pressed(now, first);
  const over = rest.reduce((so, at) => tracing.dragged(so, at, SLACK, REACH), down);
  return tracing.released(over, { x: 0.001, y: 0.001 });
};
const BOX = [
  { x: 0.3, y: 0.2 },
  { x: 0.8, y: 0.7 },
];
const TRIANGLE = [
  { x: 0.2, y: 0.2 },
  { x: 0.6, y: 0.2 },
  { x: 0.4, y: 0.8 },
];

test("dragging makes a box from press to release", () => {
  const now = swept(begun("box"), BOX[1], { x: 0.6, y: 0.6 }, BOX[0]);
  assert.deepEqual(now.points, BOX);
});

test("two clicks make the same box without dragging", () => {
  const half = clicked(begun("box"), BOX[1]);
  assert.equal(half.points.length, 1);
  assert.deepEqual(clicked(half, BOX[0]).points, BOX);
});

test("a press that slips a hair is a click, not a drag", () => {
  const now = swept(begun("box"), MIDDLE, { x: 0.501, y: 0.5 });
  assert.equal(now.moved, false);
  assert.deepEqual(now.points, []);
});

test("the pencil tip moves by steps and never leaves the bled sheet", () => {
  let now = tracing.nudged(begun("point"), { x: 0.1, y: -0.1 });
  assert.deepEqual(now.tip, { x: 0.6, y: 0.4 });
  now = tracing.nudged(now, { x: 5, y: -5 });
  assert.deepEqual(now.tip, { x: 1.01, y: -0.02 });
  assert.deepEqual(clicked(now, now.tip).points, [now.tip]);
});

test("an outline grows click by click and closes on its first or its last point", () => {
  for (const mark of /** @type {const} */ (["loop", "polygon"])) {
    const open = clicked(begun(mark), ...TRIANGLE);
    assert.equal(tracing.isDone(open), false);
    assert.equal(tracing.tookBack(open).points.length, 2);
    for (const end of [TRIANGLE[0], TRIANGLE[2]]) {
      const closed = clicked(open, end);
      assert.equal(tracing.isDone(closed), true, mark);
      assert.deepEqual(closed.points, TRIANGLE);
    }
  }
});

test("an outline of two points does not close", () => {
  const now = clicked(begun("polygon"), TRIANGLE[0], TRIANGLE[1], TRIANGLE[1]);
  assert.equal(tracing.isDone(now), false);
  assert.deepEqual(now.points, TRIANGLE.slice(0, 2));
});

test("after a drawn loop a click outside it begins a new one", () => {
  const round = Array.from({ length: 30 }, (_, step) => ({
    x: 0.5 + 0.2 * Math.cos(step / 5),
    y: 0.5 + 0.2 * Math.sin(step / 5),
  }));
  const now = swept(begun("loop"), ...round);
  assert.ok(now.points.length > 3 && tracing.isDone(now));
  assert.deepEqual(clicked(now, { x: 0.1, y: 0.1 }).points, [{ x: 0.1, y: 0.1 }]);
});

test("a corner is moved by two clicks, the whole mark by two clicks inside it", () => {
  const box = tracing.begun("box", BOX, MIDDLE, WITHIN);
  const corner = clicked(box, { x: 0.305, y: 0.21 }, { x: 0.1, y: 0.1 });
  assert.deepEqual(corner.points, [{ x: 0.1, y: 0.1 }, BOX[1]]);
  assert.equal(corner.held, null);
  const whole = clicked(box, MIDDLE, { x: 0.6, y: 0.45 });
  assert.ok(Math.abs(whole.points[0].x - 0.4) < 1e-9);
  assert.ok(Math.abs(whole.points[1].y - 0.65) < 1e-9);
});

test("the same by dragging, and a corner dragged over its opposite stays a box", () => {
  const box = tracing.begun("box", BOX, MIDDLE, WITHIN);
  const turned = swept(box, BOX[0], { x: 0.5, y: 0.5 }, { x: 0.9, y: 0.9 });
  assert.deepEqual(turned.points, [
    { x: 0.8, y: 0.7 },
    { x: 0.9, y: 0.9 },
  ]);
  const far = swept(box, MIDDLE, { x: 0.6, y: 0.6 }, { x: 2, y: 2 });
  assert.ok(far.points[1].x <= 1.01 && far.points[1].y <= 1.02);
  const wide = far.points[1].x - far.points[0].x;
  assert.ok(Math.abs(wide - 0.5) < 1e-9, "it keeps its size at the edge");
});

test("by keys a corner is taken, moved and put down; a polygon gains and loses one", () => {
  let now = tracing.begun("polygon", TRIANGLE, MIDDLE, WITHIN);
  now = tracing.nextCorner(now, 1);
  assert.deepEqual(now.tip, TRIANGLE[0]);
  now = tracing.nudged(now, { x: -0.1, y: 0 });
  now = tracing.set(now, now.tip, REACH);
  assert.ok(Math.abs(now.points[0].x - 0.1) < 1e-9 && now.held === null);
  now = tracing.cornerMore(tracing.nextCorner(now, -1));
  assert.equal(now.points.length, 4);
  assert.deepEqual(tracing.cornerLess(now).points.length, 3);
  assert.equal(tracing.cornerLess(tracing.cornerLess(now)).points.length, 3);
  now = tracing.nudged(tracing.wholeInHand({ ...now, held: null }), { x: 0.1, y: 0.1 });
  assert.ok(Math.abs(now.points[0].x - 0.2) < 1e-9);
});

test("a closed polygon is opened again by taking the last step back", () => {
  const closed = tracing.begun("polygon", TRIANGLE, MIDDLE, WITHIN);
  const open = tracing.tookBack(closed);
  assert.deepEqual([open.closed, open.points.length], [false, 3]);
});

test("the words say which step is next", () => {
  const box = begun("box");
  assert.equal(tracing.stillToDo(box), "Set one corner.");
  const half = clicked(box, MIDDLE);
  assert.equal(tracing.stillToDo(half), "Set the opposite corner.");
  assert.equal(tracing.stillToDo(begun("")), "");
  const done = tracing.begun("polygon", TRIANGLE, MIDDLE, WITHIN);
  assert.match(tracing.stillToDo(done), /closed/);
  assert.match(tracing.stillToDo(tracing.nextCorner(done, 1)), /Corner 1 of 3/);
});
