import assert from "node:assert/strict";
import test from "node:test";
import { between, fraction, percent, within } from "#lib/boxes.js";

test("a box is the same whichever way it is dragged", () => {
  const one = { x: 0.6, y: 0.5 };
  const other = { x: 0.2, y: 0.75 };
  assert.deepEqual(between(one, other), between(other, one));
  assert.equal(between(one, other).x, 0.2);
  assert.equal(between(one, other).height, 0.25);
});

test("a place stays on the bled sheet", () => {
  const bleed = { x: 0.01, y: 0.02 };
  assert.deepEqual(within({ x: -1, y: 2 }, bleed), { x: -0.01, y: 1.02 });
  assert.deepEqual(within({ x: 0.5, y: 0.5 }, bleed), { x: 0.5, y: 0.5 });
});

test("per cent are read with a point or a comma, and written to a tenth", () => {
  assert.equal(fraction("36,5"), 0.365);
  assert.equal(fraction(" 6 "), 0.06);
  assert.ok(Number.isNaN(fraction("")));
  assert.ok(Number.isNaN(fraction("left")));
  assert.equal(percent(0.3649), "36.5");
});
