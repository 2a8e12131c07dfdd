import assert from "node:assert/strict";
import { test } from "node:test";
import * as tracing from "#lib/tracing.js";

const WITHIN = { x: -0.01, y: -0.02, width: 1.02, height: 1.04 };
const MIDDLE = { x: 0.5, y: 0.5 };
/** @param {import("#lib/marks.js").Mark} mark */
const begun = (mark) => tracing.begun(mark, [], MIDDLE, WITHIN);

test("dragging makes a box from press to release", () => {
  let now = tracing.pressed(begun("box"), { x: 0.8, y: 0.7 });
  now = tracing.dragged(now, { x: 0.6, y: 0.6 }, 0.01);
  now = tracing.dragged(now, { x: 0.3, y: 0.2 }, 0.01);
  now = tracing.released(now, 0.001);
  assert.deepEqual(now.points, [
    { x: 0.3, y: 0.2 },
    { x: 0.8, y: 0.7 },
  ]);
});

test("two clicks make the same box without dragging", () => {
  let now = tracing.set(begun("box"), { x: 0.8, y: 0.7 });
  assert.equal(now.points.length, 1);
  now = tracing.set(now, { x: 0.3, y: 0.2 });
  assert.deepEqual(now.points, [
    { x: 0.3, y: 0.2 },
    { x: 0.8, y: 0.7 },
  ]);
});

test("a press that slips a hair is a click, not a drag", () => {
  let now = tracing.pressed(begun("box"), MIDDLE);
  now = tracing.dragged(now, { x: 0.501, y: 0.5 }, 0.01);
  assert.equal(now.moved, false);
  assert.deepEqual(tracing.released(now, 0.001).points, []);
});

test("the pencil tip moves by steps and never leaves the bled sheet", () => {
  let now = tracing.nudged(begun("point"), { x: 0.1, y: -0.1 });
  assert.deepEqual(now.tip, { x: 0.6, y: 0.4 });
  now = tracing.nudged(now, { x: 5, y: -5 });
  assert.deepEqual(now.tip, { x: 1.01, y: -0.02 });
  assert.deepEqual(tracing.set(now, now.tip).points, [now.tip]);
});

test("a loop grows point by point, and the last one can be taken back", () => {
  let now = begun("loop");
  for (const at of [MIDDLE, { x: 0.6, y: 0.5 }, { x: 0.6, y: 0.6 }, { x: 0.5, y: 0.7 }])
    now = tracing.set(now, at);
  assert.equal(now.points.length, 4);
  assert.equal(tracing.tookBack(now).points.length, 3);
  assert.match(tracing.stillToDo(now), /closed through 4 points/);
});

test("after a drawn loop a click begins a new one", () => {
  let now = tracing.pressed(begun("loop"), MIDDLE);
  for (let step = 1; step < 30; step += 1)
    now = tracing.dragged(now, { x: 0.5 + step / 100, y: 0.5 + (step % 7) / 50 }, 0.01);
  now = tracing.released(now, 0.001);
  assert.ok(now.points.length > 3);
  assert.deepEqual(tracing.set(now, MIDDLE).points, [MIDDLE]);
});

test("the words say which step is next", () => {
  const box = begun("box");
  assert.equal(tracing.stillToDo(box), "Set one corner.");
  const half = tracing.set(box, MIDDLE);
  assert.equal(tracing.stillToDo(half), "Set the opposite corner.");
  assert.equal(tracing.stillToDo(begun("")), "");
});
