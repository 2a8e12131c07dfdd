import assert from "node:assert/strict";
import test from "node:test";
import { countWords } from "#lib/words.js";

test("words are what says something between spaces", () => {
  assert.equal(countWords("BONG. Nothing. BONG."), 3);
  assert.equal(countWords(" — … — "), 0);
  assert.equal(countWords("Árvíztűrő tükörfúrógép الرسالة"), 3);
  assert.equal(countWords(""), 0);
});

test("hints in brackets are not read aloud", () => {
  assert.equal(countWords("Comma stops. [The mark\nis a comma.]"), 2);
});
