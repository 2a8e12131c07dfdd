import assert from "node:assert/strict";
import { test } from "node:test";
import { sizesOf } from "#lib/levels.js";

test("the still comes first, then only levels that show more than it", () => {
  const sizes = sizesOf({ width: 2430, height: 1230, tile: 512, levels: 4 });
  assert.deepEqual(
    sizes.map(({ level }) => level),
    [-1, 3],
  );
  assert.ok(Math.abs(sizes[0].scale * 2430 - 1200) < 1e-9);
  assert.ok(sizes[0].tile > 1200);
});

test("an 87-megapixel picture has all its larger levels", () => {
  const sizes = sizesOf({ width: 13_200, height: 6_600, tile: 512, levels: 6 });
  assert.deepEqual(
    sizes.map(({ level }) => level),
    [-1, 2, 3, 4, 5],
  );
  const scales = sizes.map(({ scale }) => scale);
  assert.deepEqual(
    scales,
    scales.toSorted((one, other) => one - other),
  );
});

test("a small picture is fetched as it is", () => {
  const sizes = sizesOf({ width: 1000, height: 500, tile: 512, levels: 2 });
  assert.deepEqual(sizes, [{ scale: 1, tile: 512, level: 1 }]);
});

test("a picture of one pixel still has a size", () => {
  assert.equal(sizesOf({ width: 1, height: 1, tile: 512, levels: 1 }).length, 1);
});
