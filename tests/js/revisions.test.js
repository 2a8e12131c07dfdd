import assert from "node:assert/strict";
import { test } from "node:test";
import { fingerprint, recall, remember } from "#revisions/memory.js";
import { nudged, toPlace, toShown, WHOLE } from "#revisions/placing.js";
import { inWords } from "#revisions/sending.js";

const FILE = { name: "08-09.tif", size: 40_092_140, lastModified: 1_764_000_000_000 };

function shelf() {
  /** @type {Map<string, string>} */
  const kept = new Map();
  return {
    kept,
    getItem: (/** @type {string} */ name) => kept.get(name) ?? null,
    setItem: (/** @type {string} */ name, /** @type {string} */ value) => {
      kept.set(name, value);
    },
    removeItem: (/** @type {string} */ name) => {
      kept.delete(name);
    },
  };
}

test("a file is known again by name, size and last change", () => {
  const here = shelf();
  remember(here, "book", FILE, "upload1");
  assert.equal(recall(here, "book", { ...FILE }), "upload1");
  assert.equal(recall(here, "book", { ...FILE, size: 1 }), "");
  assert.equal(recall(here, "other", FILE), "");
  assert.notEqual(fingerprint("a", FILE), fingerprint("b", FILE));
});

test("what is forgotten leaves nothing behind", () => {
  const here = shelf();
  remember(here, "book", FILE, "upload1");
  remember(here, "book", FILE, "");
  assert.equal(here.kept.size, 0);
});

test("a window without storage still sends", () => {
  const shut = {
    getItem: () => {
      throw new Error("shut");
    },
    setItem: () => {
      throw new Error("shut");
    },
    removeItem: () => {
      throw new Error("shut");
    },
  };
  remember(shut, "book", FILE, "upload1");
  assert.equal(recall(shut, "book", FILE), "");
});

test("a mark on a laid picture lies on the sheet and comes back", () => {
  const rect = { x: -8 / 508, y: -8 / 254, width: 524 / 508, height: 270 / 254 };
  const corner = toPlace({ x: 8 / 524, y: 8 / 270 }, rect);
  assert.ok(Math.abs(corner.x) < 1e-9 && Math.abs(corner.y) < 1e-9);
  const back = toShown(toPlace({ x: 0.3, y: 0.7 }, rect), rect);
  assert.ok(Math.abs(back.x - 0.3) < 1e-9 && Math.abs(back.y - 0.7) < 1e-9);
  assert.deepEqual(toPlace({ x: 0.5, y: 0.5 }, WHOLE), { x: 0.5, y: 0.5 });
});

test("arrow keys move a mark and never off the picture", () => {
  assert.deepEqual(nudged({ x: 0.5, y: 0.5 }, "ArrowRight", false), {
    x: 0.501,
    y: 0.5,
  });
  assert.deepEqual(nudged({ x: 0.5, y: 0.5 }, "ArrowUp", true), { x: 0.5, y: 0.49 });
  assert.deepEqual(nudged({ x: 1, y: 0 }, "ArrowRight", true), { x: 1, y: 0 });
  assert.equal(nudged({ x: 0.5, y: 0.5 }, "Enter", false), null);
});

test("sizes are said as the page says them", () => {
  assert.equal(inWords(9_400_000), "9.4 MB");
  assert.equal(inWords(40_092_140), "40 MB");
});
