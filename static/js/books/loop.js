import { within } from "#lib/boxes.js";
import { cornersOf, stepped, typedOf } from "#lib/loops.js";

/**
 * Lets a loop be drawn on the plan corner by corner, by presses or by keys; the field
 * does the same by typing.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 */
const SVG = "http://www.w3.org/2000/svg";
const SIDES = ["x", "y", "width", "height"];

/**
 * @typedef {object} Parts
 * @property {HTMLFormElement} form
 * @property {HTMLInputElement} field
 * @property {SVGSVGElement} sheet
 * @property {Element} paper
 * @property {HTMLButtonElement} draw
 * @property {HTMLElement} says
 * @property {SVGSVGElement} layer
 */

/** @param {Parts} parts */
function begin({ form, field, sheet, paper, draw, says, layer }) {
  let cross = /** @type {Point} */ ({ x: 0.25, y: 0.5 });
  const drawing = () => draw.getAttribute("aria-pressed") === "true";

  const show = () => {
    const corners = cornersOf(field.value);
    const at = corners.map(({ x, y }) => `${x},${y}`).join(" ");
    layer.replaceChildren(
      made("polygon", { points: at, class: "plan-box plan-draft" }),
    );
    if (drawing()) layer.append(...crossAt(cross, paper));
  };

  /** @param {Point} at */
  const hold = (at) => within(at, bleedOf(sheet, paper));

  /** @param {Point[]} corners */
  const keep = (corners) => {
    field.value = typedOf(corners);
    for (const name of SIDES) {
      const side = form.elements.namedItem(name);
      if (side instanceof HTMLInputElement) side.value = "";
    }
    form.dispatchEvent(new Event("input"));
    says.textContent = `${corners.length} corners`;
    show();
  };
  const add = () => keep([...cornersOf(field.value), cross]);
  const back = () => keep(cornersOf(field.value).slice(0, -1));

  draw.addEventListener("click", () => {
    const on = !drawing();
    draw.setAttribute("aria-pressed", String(on));
    sheet.toggleAttribute("data-drawing-loop", on);
    if (on) {
      sheet.setAttribute("tabindex", "0");
      sheet.focus({ preventScroll: true });
      keep(cornersOf(field.value));
    } else {
      sheet.removeAttribute("tabindex");
      show();
    }
  });
  form.querySelector("[data-loop-back]")?.addEventListener("click", back);
  form.addEventListener("input", (event) => {
    const side = form.elements.namedItem("x");
    const boxed = side instanceof HTMLInputElement && side.value !== "";
    if (boxed && event.target !== field) field.value = "";
    show();
  });
  sheet.addEventListener(
    "pointerdown",
    (event) => {
      if (!drawing() || !event.isPrimary || event.button !== 0) return;
      event.stopImmediatePropagation();
      const lies = paper.getBoundingClientRect();
      cross = hold({
        x: (event.clientX - lies.left) / lies.width,
        y: (event.clientY - lies.top) / lies.height,
      });
      add();
    },
    { capture: true },
  );
  sheet.addEventListener("keydown", (event) => {
    if (!drawing()) return;
    if (event.key === "Enter") add();
    else if (event.key === "Backspace") back();
    else if (event.key.startsWith("Arrow"))
      cross = hold(stepped(cross, event.key, event.shiftKey));
    else return;
    event.preventDefault();
    show();
  });
  show();
}

/** @param {Element} sheet @param {Element} paper @returns {Point} */
function bleedOf(sheet, paper) {
  const lies = paper.getBoundingClientRect();
  const bled = sheet.getBoundingClientRect();
  return {
    x: Math.max(0, (lies.left - bled.left) / lies.width),
    y: Math.max(0, (lies.top - bled.top) / lies.height),
  };
}

/** @param {Point} at @param {Element} paper */
function crossAt(at, paper) {
  const lies = paper.getBoundingClientRect();
  const x = 8 / lies.width;
  const y = 8 / lies.height;
  return [
    made("line", line(at.x - x, at.y, at.x + x, at.y)),
    made("line", line(at.x, at.y - y, at.x, at.y + y)),
  ];
}

/** @param {number} x1 @param {number} y1 @param {number} x2 @param {number} y2 */
function line(x1, y1, x2, y2) {
  return { x1, y1, x2, y2, class: "plan-cross" };
}

/** @param {string} name @param {Record<string, string | number>} given */
function made(name, given) {
  const part = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(given))
    part.setAttribute(key, String(value));
  return part;
}

/** A layer over the trim whose own units are fractions. @param {Element} trim */
function layerOver(trim) {
  const layer = /** @type {SVGSVGElement} */ (
    made("svg", {
      viewBox: "0 0 1 1",
      width: "100%",
      height: "100%",
      overflow: "visible",
    })
  );
  layer.setAttribute("preserveAspectRatio", "none");
  trim.append(layer);
  return layer;
}

for (const held of document.querySelectorAll("[data-loop]")) {
  const form = held.closest("form");
  const field = held.querySelector("input");
  const sheet = /** @type {SVGSVGElement | null} */ (
    document.querySelector("svg[data-sheet]")
  );
  const trim = sheet?.querySelector("svg[data-trim]");
  const paper = trim?.querySelector("rect");
  const draw = held.querySelector("[data-loop-draw]");
  const says = /** @type {HTMLElement | null} */ (
    held.querySelector("[data-loop-says]")
  );
  if (
    form &&
    field &&
    sheet &&
    trim &&
    paper &&
    draw instanceof HTMLButtonElement &&
    says
  ) {
    for (const tools of held.querySelectorAll("[data-loop-tools]"))
      tools.removeAttribute("hidden");
    begin({ form, field, sheet, paper, draw, says, layer: layerOver(trim) });
  }
}
