import assert from "node:assert/strict";
import test from "node:test";
import { clock, turned, wayOf } from "#lib/turning.js";

test("pages turn one by one and end after the last", () => {
  assert.equal(turned(0, -1, 3), 0);
  assert.equal(turned(1, 1, 3), 2);
  assert.equal(turned(2, 1, 3), 3);
  assert.equal(turned(3, 1, 3), 3);
});

test("arrows turn the way the book is read", () => {
  assert.equal(wayOf("ArrowRight"), 1);
  assert.equal(wayOf("ArrowLeft"), -1);
  assert.equal(wayOf("ArrowRight", true), -1);
  assert.equal(wayOf(" "), 1);
  assert.equal(wayOf("a"), 0);
});

test("a clock shows minutes and two figures of seconds", () => {
  assert.equal(clock(-1), "0:00");
  assert.equal(clock(65.9), "1:05");
  assert.equal(clock(3600), "60:00");
});
