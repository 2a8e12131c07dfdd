import { middleOf } from "#lib/frames.js";

/**
 * What is drawn over the sheet: outlines, numbers, and the taps of a new frame.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/frames.js").Frame} Frame
 */

const SVG = "http://www.w3.org/2000/svg";

/** @param {Element} lines @param {Frame[]} frames @param {number} chosen */
export function drawOutlines(lines, frames, chosen) {
  lines.replaceChildren();
  for (const [at, frame] of frames.entries()) {
    const points = frame.corners.map((c) => `${c.x * 100},${c.y * 100}`).join(" ");
    for (const name of ["cut-casing", "cut-line"]) {
      const line = document.createElementNS(SVG, "polygon");
      line.setAttribute("points", points);
      line.setAttribute("class", at === chosen ? `${name} cut-in-hand` : name);
      line.setAttribute("data-frame", String(at));
      lines.append(line);
    }
  }
}

/** @param {HTMLElement} stage @param {HTMLElement} part @param {Point} at */
export function putOn(stage, part, at) {
  part.style.left = `${at.x * 100}%`;
  part.style.top = `${at.y * 100}%`;
  if (!part.isConnected) stage.append(part);
}

/** @param {HTMLElement} stage @param {Frame[]} frames @param {Point[]} taps */
export function drawMarks(stage, frames, taps) {
  for (const old of stage.querySelectorAll(".cut-name, .cut-tap")) old.remove();
  const draw = (/** @type {string} */ name, /** @type {string} */ word) => {
    const part = document.createElement("span");
    part.className = name;
    part.textContent = word;
    part.setAttribute("aria-hidden", "true");
    return part;
  };
  for (const [at, frame] of frames.entries())
    putOn(stage, draw("cut-name", String(at + 1)), middleOf(frame.corners));
  for (const tap of taps) putOn(stage, draw("cut-tap", ""), tap);
}
