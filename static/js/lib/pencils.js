/**
 * A person's pencil: hue, line pattern and initials together, never colour alone.
 */

/** @type {Record<string, number[]>} lengths in line widths */
const PATTERNS = {
  plain: [],
  dashed: [5, 3],
  dotted: [0.2, 2.4],
  "dash-dot": [6, 2.5, 0.2, 2.5],
  double: [],
};

/**
 * The dash lengths of a line pattern, for `stroke-dasharray`.
 *
 * @param {string} line
 * @param {number} width of the stroke
 */
export function dashes(line, width) {
  const pattern = PATTERNS[line] ?? [];
  return pattern.map((length) => Math.round(length * width * 100) / 100).join(" ");
}

/** Whether the line is drawn twice, thinly. @param {string} line */
export function isDouble(line) {
  return line === "double";
}
