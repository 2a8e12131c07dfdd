import assert from "node:assert/strict";
import { test } from "node:test";
import { cornersOf, stepped, typedOf } from "#lib/loops.js";

test("a loop is typed and read in per cent", () => {
  const corners = cornersOf(" 20,30 45.5,31  40,60 nonsense 7 ");
  assert.deepEqual(corners, [
    { x: 0.2, y: 0.3 },
    { x: 0.455, y: 0.31 },
    { x: 0.4, y: 0.6 },
  ]);
  assert.equal(typedOf(corners), "20,30 45.5,31 40,60");
});

test("arrows move the cross by a per cent, finer by a fifth of it", () => {
  const at = { x: 0.5, y: 0.5 };
  assert.deepEqual(stepped(at, "ArrowRight", false), { x: 0.51, y: 0.5 });
  assert.deepEqual(stepped(at, "ArrowUp", true), { x: 0.5, y: 0.498 });
  assert.deepEqual(stepped(at, "Home", false), at);
});
