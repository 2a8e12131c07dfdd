import assert from "node:assert/strict";
import { test } from "node:test";
import { inView, meets } from "#lib/in_view.js";
import { choicesOf, passes, told } from "#lib/sieving.js";

const NOTE = { sort: "direction", by: "Honor Ngata", ended: false, made: "sketch 1" };
const ALL = { sort: "", by: "", state: "", made: "" };

test("an empty sieve lets everything through, each question sifts alone", () => {
  assert.equal(passes(NOTE, ALL), true);
  assert.equal(passes(NOTE, { ...ALL, sort: "keep" }), false);
  assert.equal(passes(NOTE, { ...ALL, by: "Honor Ngata", made: "sketch 1" }), true);
  assert.equal(passes(NOTE, { ...ALL, state: "ended" }), false);
  assert.equal(passes({ ...NOTE, ended: true }, { ...ALL, state: "ended" }), true);
  assert.equal(passes({ ...NOTE, ended: true }, { ...ALL, state: "open" }), false);
});

test("only what is there can be chosen, each once", () => {
  const notes = [NOTE, { ...NOTE, sort: "keep" }, { ...NOTE, by: "Dov" }];
  const found = choicesOf(notes);
  assert.deepEqual(found.sort, ["direction", "keep"]);
  assert.deepEqual(found.by, ["Dov", "Honor Ngata"]);
});

test("how many are shown is said in words", () => {
  assert.equal(told(7, 7), "All 7 notes.");
  assert.equal(told(2, 7), "2 of 7 notes.");
  assert.equal(told(1, 1), "One note.");
});

test("what is in view is said in millimetres, with its notes", () => {
  const format = {
    widthMm: 508,
    heightMm: 254,
    bleedMm: 3,
    safeMm: 9,
    gutterMm: 9,
    double: true,
  };
  const seen = { x: 0.5, y: 0, width: 0.25, height: 0.5 };
  assert.equal(
    inView(seen, format, ["2.1 HN"]),
    "In view: 254 to 381 mm from the left, 0 to 127 mm down. Notes: 2.1 HN.",
  );
  assert.match(inView(seen, format, []), /No note\.$/);
  assert.equal(meets(seen, { x: 0.7, y: 0.4, width: 0.1, height: 0.3 }), true);
  assert.equal(meets(seen, { x: 0.8, y: 0.4, width: 0.1, height: 0.3 }), false);
});
