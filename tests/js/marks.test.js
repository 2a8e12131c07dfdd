import assert from "node:assert/strict";
import { test } from "node:test";
import {
  boundsOf,
  boxOf,
  isWhole,
  outline,
  readPoints,
  thinned,
  writePoints,
} from "#lib/marks.js";

test("a box is the same whichever corner was set first", () => {
  const one = boxOf({ x: 0.7, y: 0.1 }, { x: 0.2, y: 0.6 });
  const other = boxOf({ x: 0.2, y: 0.6 }, { x: 0.7, y: 0.1 });
  assert.deepEqual(one, other);
  assert.deepEqual(one, [
    { x: 0.2, y: 0.1 },
    { x: 0.7, y: 0.6 },
  ]);
});

test("points survive being written to a field and read again", () => {
  const points = [
    { x: -0.0118, y: 0.5 },
    { x: 1.0118, y: 0.33333 },
  ];
  assert.deepEqual(readPoints(writePoints(points)), points);
});

test("what is not two numbers is left out of points", () => {
  assert.deepEqual(readPoints("0.1,0.2 nonsense 3 4,,5 0.3,0.4"), [
    { x: 0.1, y: 0.2 },
    { x: 0.3, y: 0.4 },
  ]);
  assert.deepEqual(readPoints(""), []);
});

test("a loop of a hundred points on a square keeps its corners and little else", () => {
  const corners = [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
    [0, 0],
  ];
  const points = corners.slice(1).flatMap(([x, y], side) =>
    Array.from({ length: 25 }, (_, step) => ({
      x: corners[side][0] + ((x - corners[side][0]) * step) / 25,
      y: corners[side][1] + ((y - corners[side][1]) * step) / 25,
    })),
  );
  const kept = thinned(points, 0.001);
  assert.ok(kept.length <= 6, `${kept.length} points kept`);
  for (const [x, y] of corners.slice(0, 4))
    assert.ok(kept.some((at) => Math.hypot(at.x - x, at.y - y) < 0.05));
});

test("thinning never moves a line further than its tolerance", () => {
  const wave = Array.from({ length: 300 }, (_, step) => ({
    x: step / 300,
    y: 0.5 + 0.2 * Math.sin(step / 20),
  }));
  const kept = thinned(wave, 0.004);
  assert.ok(kept.length < 80);
  for (const point of wave) {
    const near = kept.slice(1).map((b, index) => {
      const a = kept[index];
      const along =
        ((point.x - a.x) * (b.x - a.x) + (point.y - a.y) * (b.y - a.y)) /
        ((b.x - a.x) ** 2 + (b.y - a.y) ** 2);
      const t = Math.min(1, Math.max(0, along));
      return Math.hypot(
        point.x - a.x - t * (b.x - a.x),
        point.y - a.y - t * (b.y - a.y),
      );
    });
    assert.ok(Math.min(...near) <= 0.004 + 1e-9);
  }
});

test("a mark is whole with one point, two corners or three points of a loop", () => {
  const at = { x: 0, y: 0 };
  assert.ok(isWhole("", []));
  assert.ok(isWhole("point", [at]));
  assert.ok(!isWhole("box", [at]));
  assert.ok(!isWhole("loop", [at, at]));
});

test("a box is drawn as four strokes that overshoot, a point as a caret", () => {
  const box = outline(
    "box",
    [
      { x: 10, y: 10 },
      { x: 50, y: 30 },
    ],
    4,
  );
  assert.equal(box.match(/M/g)?.length, 4);
  assert.match(box, /^M6 10H54/);
  assert.match(outline("point", [{ x: 10, y: 10 }], 4), /L10 10L/);
  assert.equal(outline("", [], 4), "");
});

test("bounds enclose every point", () => {
  const bounds = boundsOf([
    { x: 0.2, y: 0.9 },
    { x: 0.6, y: 0.1 },
  ]);
  assert.ok(Math.abs(bounds.width - 0.4) < 1e-12);
  assert.ok(Math.abs(bounds.height - 0.8) < 1e-12);
});
