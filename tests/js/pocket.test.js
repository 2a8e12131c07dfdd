import assert from "node:assert/strict";
import { test } from "node:test";
import {
  asOf,
  filesOf,
  isKept,
  lost,
  meta,
  momentWords,
  namedIn,
  pictureOf,
  titleOf,
} from "#lib/pocket.js";

const PAGE = `<head><meta name="board-person" content="p1"><title>8-9, A &amp; B | House</title>
<script type="importmap">{"imports":{"#lib/a.js":"/static/js/lib/a.1.js","#wall/b.js":"/static/js/wall/b.1.js"}}</script>
<link href="/static/css/x.css"></head><board-line class="x" hidden></board-line>`;

test("desk, walls, rooms, letters and what waits are kept, nothing else", () => {
  for (const path of ["/", "/waiting/", "/wall/a1/", "/rooms/a1/", "/letters/a1/"])
    assert.ok(isKept(path), path);
  for (const path of [
    "/rooms/a1/parts/",
    "/people/me/",
    "/rooms/a1/light-table/",
    "/api/",
  ])
    assert.ok(!isKept(path), path);
});

test("a picture is kept under a name without its signature and its end", () => {
  const one = pictureOf("/t/1790000000/b1:p1/c2ln/k-9/medium.webp");
  assert.deepEqual(one, {
    book: "b1",
    person: "p1",
    name: "/pocket/b1/k-9/medium.picture",
  });
  const later = pictureOf("/t/1790000300/b1:p1/b3Ro/k-9/medium.webp");
  assert.equal(later?.name, one?.name);
  assert.equal(pictureOf("/t/1790000000/b1:p1/c2ln/k-9/5/1_2.jpg"), null);
  assert.equal(pictureOf("/o/1790000000/b1:p1/c2ln/k-9/medium.webp"), null);
});

test("a page tells whose it is, what it is called and which files it needs", () => {
  assert.equal(meta(PAGE, "board-person"), "p1");
  assert.equal(meta(PAGE, "board-book"), "");
  assert.equal(titleOf(PAGE), "8-9, A &amp; B");
  assert.deepEqual(filesOf(PAGE), ["/static/css/x.css", "/static/js/lib/a.1.js"]);
  assert.equal(namedIn(PAGE).length, 3);
  assert.match(asOf(PAGE, 77), /<board-line data-as-of="77" class/);
});

test("a book is lost when it is gone or seen with other credits", () => {
  const before = { a: "editor", b: "author", c: "rights" };
  assert.deepEqual(lost(before, { a: "editor", b: "author, editor" }), ["b", "c"]);
  assert.deepEqual(lost({}, { a: "editor" }), []);
});

test("a moment of today is told by its hour, an older one with its day", () => {
  const now = new Date(2026, 10, 26, 18, 0);
  const today = new Date(2026, 10, 26, 14, 5).getTime();
  assert.equal(momentWords(today, now, "en-GB"), "14:05");
  assert.equal(momentWords(today - 86_400_000, now, "en-GB"), "25 November, 14:05");
});
