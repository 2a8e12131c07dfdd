import assert from "node:assert/strict";
import { test } from "node:test";
import { placeLabels } from "#lib/labels.js";

const VIEW = { x: 0, y: 0, width: 1000, height: 600 };

/** @param {string} key @param {number} x @param {number} y */
const wish = (key, x, y) => ({
  key,
  box: { x, y, width: 60, height: 40 },
  width: 50,
  height: 17,
});

/** @param {import("#lib/sheet.js").Rect} a @param {import("#lib/sheet.js").Rect} b */
const meet = (a, b) =>
  a.x < b.x + b.width &&
  b.x < a.x + a.width &&
  a.y < b.y + b.height &&
  b.y < a.y + a.height;

test("six marks on one place get six labels that do not cover each other", () => {
  const placed = placeLabels(
    ["a", "b", "c", "d", "e", "f"].map((key) => wish(key, 400, 300)),
    VIEW,
  );
  assert.equal(placed.length, 6);
  for (const one of placed)
    for (const other of placed)
      if (one !== other) assert.ok(!meet(one.rect, other.rect));
});

test("a label never leaves the view", () => {
  for (const { rect } of placeLabels([wish("a", 0, 0), wish("b", 940, 560)], VIEW)) {
    assert.ok(rect.x >= 0 && rect.x + rect.width <= 1000);
    assert.ok(rect.y >= 0 && rect.y + rect.height <= 600);
  }
});

test("a mark outside the view has no label", () => {
  assert.deepEqual(placeLabels([wish("a", 2000, 300)], VIEW), []);
});

test("the leader runs from the mark's edge to the label's edge", () => {
  const [{ from, to, rect }] = placeLabels([wish("a", 400, 300)], VIEW);
  assert.ok(from.x >= 400 && from.x <= 460 && from.y >= 300 && from.y <= 340);
  assert.ok(to.x >= rect.x && to.x <= rect.x + rect.width);
});
