import assert from "node:assert/strict";
import { test } from "node:test";
import { waitBefore } from "#lib/backoff.js";
import { LEAST_HOLD_MS, mayLift } from "#lib/lifting.js";
import { readLook, VIEWS, writeLook } from "#lib/look.js";
import { dashes, isDouble } from "#lib/pencils.js";
import { stepFrom } from "#lib/stepping.js";

test("waiting doubles, stops at half a minute and never falls together", () => {
  assert.equal(waitBefore(0, 1), 500);
  assert.equal(waitBefore(3, 1), 4000);
  assert.equal(waitBefore(50, 1), 30_000);
  assert.equal(waitBefore(50, 0), 15_000);
});

test("lifting holds each picture at least half a second", () => {
  // WCAG 2.2, 2.3.1: not more than three flashes in any one second.
  assert.ok(LEAST_HOLD_MS >= 500);
  assert.ok(!mayLift(1499, 1000));
  assert.ok(mayLift(1500, 1000));
});

test("an address brings back exactly the look it was made from", () => {
  const look = {
    before: "aaaa",
    after: "bbbb",
    view: "slide",
    x: 0.25,
    y: 0.75,
    zoom: 3.5,
    over: 50,
    edge: 33,
    change: "c2",
  };
  assert.deepEqual(readLook(writeLook(look)), look);
});

test("nonsense in an address becomes a plain look", () => {
  const look = readLook("?view=spin&over=900&edge=x&zoom=-4");
  assert.equal(look.view, VIEWS[0]);
  assert.equal(look.over, 100);
  assert.equal(look.edge, 50);
  assert.equal(look.zoom, 0);
});

test("stepping goes round both ways and begins at either end", () => {
  const keys = ["a", "b", "c"];
  assert.equal(stepFrom(keys, "", 1), "a");
  assert.equal(stepFrom(keys, "", -1), "c");
  assert.equal(stepFrom(keys, "c", 1), "a");
  assert.equal(stepFrom(keys, "a", -1), "c");
  assert.equal(stepFrom([], "a", 1), "");
});

test("each pencil's line differs from the others without colour", () => {
  const lines = ["plain", "dashed", "dotted", "dash-dot"].map((line) =>
    dashes(line, 2),
  );
  assert.equal(new Set(lines).size, 4);
  assert.ok(isDouble("double") && !isDouble("plain"));
});
