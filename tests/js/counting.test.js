import assert from "node:assert/strict";
import { test } from "node:test";
import { counted } from "#lib/counting.js";

test("decisions are counted in the order of the list, with what is still to come", () => {
  assert.equal(counted(["", ""]), "Nothing is decided yet.");
  assert.equal(counted(["hold", "", "OK", "hold"]), "2 hold, 1 OK; 1 still to come.");
  assert.equal(counted(["return"]), "1 return.");
});
