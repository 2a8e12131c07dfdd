import assert from "node:assert/strict";
import { test } from "node:test";
import {
  bledSheet,
  clampTo,
  fromMm,
  guidesOf,
  ratioOf,
  rectToView,
  toMm,
  toSheet,
  toView,
} from "#lib/sheet.js";

/** A spread of two 10 x 10 inch pages, 3 mm bleed. */
const SPREAD = {
  widthMm: 508,
  heightMm: 254,
  bleedMm: 3,
  safeMm: 6.35,
  gutterMm: 9.525,
  double: true,
};

test("a point goes to the viewer and back", () => {
  const ratio = ratioOf(SPREAD);
  assert.equal(ratio, 0.5);
  assert.deepEqual(toView({ x: 0.5, y: 1 }, ratio), { x: 0.5, y: 0.5 });
  assert.deepEqual(toSheet(toView({ x: 0.3, y: 0.7 }, ratio), ratio), {
    x: 0.3,
    y: 0.7,
  });
});

test("a rectangle keeps its place in the viewer", () => {
  const rect = { x: -0.01, y: -0.02, width: 1.02, height: 1.04 };
  assert.deepEqual(rectToView(rect, 0.5), {
    x: -0.01,
    y: -0.01,
    width: 1.02,
    height: 0.52,
  });
});

test("millimetres are counted from the trim's corner", () => {
  const mm = toMm({ x: 0.5, y: 0.5 }, SPREAD);
  assert.deepEqual(mm, { x: 254, y: 127 });
  assert.deepEqual(fromMm(mm, SPREAD), { x: 0.5, y: 0.5 });
});

test("the bleed lies 3 mm outside the trim on all four sides", () => {
  const bled = bledSheet(SPREAD);
  assert.ok(Math.abs(bled.x * 508 + 3) < 1e-9);
  assert.ok(Math.abs((bled.x + bled.width) * 508 - 511) < 1e-9);
  assert.ok(Math.abs((bled.y + bled.height) * 254 - 257) < 1e-9);
});

test("the gutter band lies in the middle of a spread and a single page has none", () => {
  const gutter = guidesOf(SPREAD).find((guide) => guide.kind === "gutter");
  assert.ok(gutter);
  assert.ok(Math.abs(gutter.rect.x + gutter.rect.width / 2 - 0.5) < 1e-12);
  assert.ok(Math.abs(gutter.rect.width * 508 - 2 * 9.525) < 1e-9);
  const single = guidesOf({ ...SPREAD, double: false });
  assert.ok(!single.some((guide) => guide.kind === "gutter"));
});

test("a point outside is drawn to the edge", () => {
  assert.deepEqual(clampTo({ x: 3, y: -3 }, { x: 0, y: 0, width: 1, height: 1 }), {
    x: 1,
    y: 0,
  });
});
