import assert from "node:assert/strict";
import { test } from "node:test";
import { foldOf, pixelsOf, shared, squintPixels } from "#lib/setting.js";
import {
  ASSUMED,
  believed,
  CARD_MM,
  cssPerMm,
  measured,
  shownAs,
} from "#lib/true_size.js";

const SPREAD = {
  widthMm: 508,
  heightMm: 254,
  bleedMm: 3.175,
  safeMm: 9.525,
  gutterMm: 9.525,
  double: true,
};

test("a card measured at 110 ppi makes 100 mm of the sheet 100 mm on the screen", () => {
  // ISO/IEC 7810:2019 ID-1: 85,60 mm long; 110 pixels an inch are 4.3307 a millimetre.
  const covers = (110 / 25.4) * CARD_MM;
  const device = measured(covers, CARD_MM, 1);
  assert.ok(Math.abs(device - 110 / 25.4) < 1e-9);
  assert.ok(Math.abs(cssPerMm(device, 1) * 100 - (110 / 25.4) * 100) < 1e-9);
});

test("zooming the page keeps a measured screen true", () => {
  const device = measured(324, CARD_MM, 1);
  const zoomed = measured(324 / 1.5, CARD_MM, 1.5);
  assert.ok(Math.abs(device - zoomed) < 1e-9);
  assert.ok(Math.abs(cssPerMm(device, 1.5) * 1.5 - cssPerMm(device, 1)) < 1e-9);
});

test("a figure that no screen has is not believed", () => {
  assert.equal(believed(Number.NaN), 0);
  assert.equal(believed("banana"), 0);
  assert.equal(believed(0.2), 0);
  assert.equal(believed("4.33"), 4.33);
});

test("the size is said in per cent of true size", () => {
  assert.equal(shownAs(ASSUMED, ASSUMED), "100 %");
  assert.equal(shownAs(ASSUMED * 0.064, ASSUMED), "6.4 %");
});

test("72 points are an inch on the sheet", () => {
  assert.ok(Math.abs(pixelsOf(72, 2) - 50.8) < 1e-9);
});

test("words go a paragraph a box, or all into the first", () => {
  assert.deepEqual(shared("One.\n\nTwo.", 2), ["One.", "Two."]);
  assert.deepEqual(shared("One.\n\nTwo.", 1), ["One.\n\nTwo."]);
  assert.deepEqual(shared("One.\n\nTwo.\n\nThree.", 2), ["One.\n\nTwo.\n\nThree.", ""]);
  assert.deepEqual(shared("One.", 2), ["One.", ""]);
  assert.deepEqual(shared("One.", 0), []);
});

test("the fold is darkest at the gutter and gone where its band ends", () => {
  const fold = foldOf(SPREAD);
  assert.ok(fold);
  assert.equal(fold.rect.x + fold.rect.width / 2, 0.5);
  assert.equal(fold.stops.at(0)?.dark, 0);
  assert.equal(fold.stops.at(-1)?.dark, 0);
  assert.equal(Math.max(...fold.stops.map((stop) => stop.dark)), fold.stops[4].dark);
  assert.equal(foldOf({ ...SPREAD, double: false }), null);
});

test("a squint blurs the same share of the page at every zoom", () => {
  assert.ok(Math.abs(squintPixels(4, SPREAD) / squintPixels(2, SPREAD) - 2) < 1e-9);
});
