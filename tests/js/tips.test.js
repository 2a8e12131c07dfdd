import assert from "node:assert/strict";
import { test } from "node:test";
import { weigh } from "#lib/counting.js";
import { drawnAt, heard, LATE_MS, LIFTED_MS, maySend } from "#lib/tips.js";

test("a tip is drawn between two messages, a moment late", () => {
  const samples = heard(heard([], { at: 1000, x: 0, y: 0 }), { at: 1100, x: 1, y: 2 });
  assert.deepEqual(drawnAt(samples, 1050 + LATE_MS), { x: 0.5, y: 1 });
  assert.deepEqual(drawnAt(samples, 1100 + LATE_MS), { x: 1, y: 2 });
  assert.deepEqual(drawnAt(samples, 1400 + LATE_MS), { x: 1, y: 2 });
});

test("a tip moves evenly while messages come evenly", () => {
  let samples = /** @type {import("#lib/tips.js").Sample[]} */ ([]);
  for (let step = 0; step < 10; step += 1)
    samples = heard(samples, { at: step * 100, x: step, y: 0 });
  const xs = [420, 440, 460, 480].map((now) => drawnAt(samples, now + LATE_MS)?.x ?? 0);
  for (let index = 1; index < xs.length; index += 1)
    assert.ok(Math.abs(xs[index] - xs[index - 1] - 0.2) < 1e-9);
});

test("after a pause a tip does not creep over the whole pause", () => {
  const samples = heard(heard([], { at: 0, x: 0, y: 0 }), { at: 3000, x: 1, y: 0 });
  assert.deepEqual(drawnAt(samples, 2500 + LATE_MS), { x: 0, y: 0 });
});

test("a tip that rests is lifted off", () => {
  const samples = heard([], { at: 0, x: 0, y: 0 });
  assert.equal(drawnAt(samples, LIFTED_MS + 1), null);
  assert.equal(drawnAt([], 5), null);
});

test("no more than ten messages a second are sent", () => {
  assert.ok(maySend(100, 0));
  assert.ok(!maySend(99, 0));
});

test("an event is taken once and in order; a gap asks", () => {
  assert.equal(weigh(4, 5), "take");
  assert.equal(weigh(4, 4), "drop");
  assert.equal(weigh(4, 1), "drop");
  assert.equal(weigh(4, 6), "ask");
});
