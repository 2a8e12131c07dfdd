import assert from "node:assert/strict";
import { test } from "node:test";
import {
  goesRound,
  goingRound,
  inOrder,
  middleOf,
  withOne,
  without,
} from "#lib/frames.js";

const box = (x, y) => [
  { x, y },
  { x: x + 0.2, y },
  { x: x + 0.2, y: y + 0.1 },
  { x, y: y + 0.1 },
];
const three = [
  { item: "a", corners: box(0, 0) },
  { item: "b", corners: box(0.3, 0) },
  { item: "c", corners: box(0.6, 0) },
];

test("four taps in any order go clockwise from the top left", () => {
  const corners = [
    { x: 0.11, y: 0.1 },
    { x: 0.4, y: 0.13 },
    { x: 0.39, y: 0.3 },
    { x: 0.1, y: 0.28 },
  ];
  for (const order of [
    [0, 1, 2, 3],
    [2, 0, 3, 1],
    [3, 2, 1, 0],
    [1, 3, 0, 2],
  ]) {
    assert.deepEqual(goingRound(order.map((at) => corners[at])), corners);
  }
});

test("a crossed or turned over frame does not go round", () => {
  const corners = box(0.1, 0.1);
  assert.ok(goesRound(corners));
  assert.ok(!goesRound([...corners].reverse()));
  assert.ok(!goesRound([corners[0], corners[2], corners[1], corners[3]]));
  assert.ok(!goesRound(corners.slice(1)));
});

test("a frame moved earlier takes the item of its new place", () => {
  const moved = inOrder(three, 2, 0);
  assert.deepEqual(
    moved.map((one) => one.item),
    ["a", "b", "c"],
  );
  assert.deepEqual(
    moved.map((one) => one.corners[0].x),
    [0.6, 0, 0.3],
  );
  assert.equal(inOrder(three, 0, -1), three);
});

test("those after a frame taken away move up by one item", () => {
  const left = without(three, 1);
  assert.deepEqual(
    left.map((one) => one.item),
    ["a", "b"],
  );
  assert.deepEqual(
    left.map((one) => one.corners[0].x),
    [0, 0.6],
  );
});

test("a new frame is the first item that is free", () => {
  assert.equal(withOne(three, box(0, 0.5), ["", "a", "b", "c", "d"])[3].item, "d");
  assert.equal(withOne(three, box(0, 0.5), ["", "a"])[3].item, "");
});

test("a frame's number stands in its middle", () => {
  const middle = middleOf(box(0.2, 0.4));
  assert.ok(Math.abs(middle.x - 0.3) < 1e-9 && Math.abs(middle.y - 0.45) < 1e-9);
});
