import { between, fraction, percent, within } from "#lib/boxes.js";

/**
 * Shows on the plan what the fields say, and lets a new box be drawn with the
 * pointer; the fields do the same without dragging.
 */
const SVG = "http://www.w3.org/2000/svg";
const SIDES = /** @type {const} */ (["x", "y", "width", "height"]);

const sheet = document.querySelector("svg[data-sheet]");
const trim = sheet?.querySelector("svg[data-trim]");
const paper = trim?.querySelector("rect");

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 * @returns {HTMLInputElement | null}
 */
function field(form, name) {
  const found = form.elements.namedItem(name);
  return found instanceof HTMLInputElement ? found : null;
}

/**
 * @param {HTMLFormElement} form
 * @returns {SVGRectElement | null}
 */
function rectOf(form) {
  const laid = trim?.querySelector(`[data-laid="${form.dataset.box}"] rect`);
  if (laid instanceof SVGRectElement) {
    return laid;
  }
  const drafted = document.createElementNS(SVG, "rect");
  drafted.setAttribute("class", "plan-box plan-draft");
  trim?.append(drafted);
  return drafted;
}

/**
 * @param {HTMLFormElement} form
 * @param {SVGRectElement} rect
 */
function show(form, rect) {
  const typed = SIDES.map((side) => field(form, side)?.value ?? "");
  const sides = typed.map(fraction);
  if (typed.every((side) => side === "")) {
    sides.fill(0);
  }
  if (sides.some(Number.isNaN)) {
    return;
  }
  const [x, y, width, height] = sides;
  const drawn = { x, y, width: Math.max(width, 0), height: Math.max(height, 0) };
  for (const side of SIDES) {
    rect.setAttribute(side, `${drawn[side] * 100}%`);
  }
}

/**
 * @param {PointerEvent} event
 * @returns {{x: number, y: number}}
 */
function placeOf(event) {
  const lies = /** @type {Element} */ (paper).getBoundingClientRect();
  const bled = /** @type {Element} */ (sheet).getBoundingClientRect();
  const place = {
    x: (event.clientX - lies.left) / lies.width,
    y: (event.clientY - lies.top) / lies.height,
  };
  return within(place, {
    x: (lies.left - bled.left) / lies.width,
    y: (lies.top - bled.top) / lies.height,
  });
}

/** @param {HTMLFormElement} form */
function drawInto(form) {
  /** @type {{x: number, y: number} | null} */
  let from = null;
  const plan = /** @type {SVGSVGElement} */ (sheet);
  plan.addEventListener("pointerdown", (event) => {
    if (event.isPrimary && event.button === 0) {
      from = placeOf(event);
      plan.setPointerCapture(event.pointerId);
    }
  });
  plan.addEventListener("pointermove", (event) => {
    if (!from) {
      return;
    }
    const box = between(from, placeOf(event));
    for (const side of SIDES) {
      const input = field(form, side);
      if (input) {
        input.value = percent(box[side]);
      }
    }
    form.dispatchEvent(new Event("input"));
  });
  const end = () => {
    from = null;
  };
  plan.addEventListener("pointerup", end);
  plan.addEventListener("pointercancel", end);
}

for (const form of document.querySelectorAll("form[data-box]")) {
  const rect = form instanceof HTMLFormElement ? rectOf(form) : null;
  if (form instanceof HTMLFormElement && rect) {
    form.addEventListener("input", () => show(form, rect));
    if (form.dataset.box === "new") {
      show(form, rect);
      drawInto(form);
    }
  }
}
