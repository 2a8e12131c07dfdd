import { boxOf, readPoints, writePoints } from "#lib/marks.js";
import { fromMm, toMm } from "#lib/sheet.js";

/**
 * The fields of a mark: its shape, its points, and two points as numbers in mm or %.
 *
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/sheet.js").Format} Format
 * @typedef {import("#lib/marks.js").Mark} Mark
 */

export class MarkFields {
  /**
   * @param {HTMLElement} root
   * @param {Format} format
   */
  constructor(root, format) {
    this.root = root;
    this.format = format;
    this.showNumbers();
  }

  /** @param {string} name @returns {HTMLInputElement | null} */
  #field(name) {
    return this.root.querySelector(`[name="${name}"]`);
  }

  /** @returns {Mark} */
  get mark() {
    /** @type {HTMLInputElement | null} */
    const chosen = this.root.querySelector('[name="mark"]:checked');
    return /** @type {Mark} */ (chosen?.value ?? "");
  }

  /** @returns {Point[]} */
  get points() {
    return readPoints(this.#field("points")?.value ?? "");
  }

  /** @param {Mark} mark */
  choose(mark) {
    const field = this.#field("mark")?.form?.elements.namedItem("mark");
    if (field instanceof RadioNodeList) field.value = mark;
  }

  /** @param {Mark} mark @param {Point[]} points */
  write(mark, points) {
    const field = this.#field("points");
    if (!field) return;
    field.value = mark ? writePoints(points) : "";
    this.showNumbers();
  }

  /** Show the first two points in the unit that is chosen. */
  showNumbers() {
    const [one, two] = this.points;
    this.#show("x", "y", one);
    this.#show("x2", "y2", this.mark === "box" ? two : undefined);
  }

  /** @param {string} x @param {string} y @param {Point | undefined} point */
  #show(x, y, point) {
    const at = point && this.#inUnit(point);
    for (const [name, value] of [
      [x, at?.x],
      [y, at?.y],
    ]) {
      const field = this.#field(String(name));
      if (field && field !== document.activeElement)
        field.value = value === undefined ? "" : Number(value).toFixed(1);
    }
  }

  /** @param {Point} point */
  #inUnit(point) {
    return this.#inMm
      ? toMm(point, this.format)
      : { x: point.x * 100, y: point.y * 100 };
  }

  get #inMm() {
    return this.#field("unit")?.value !== "%";
  }

  /**
   * The points after somebody typed in one of the fields, or nothing.
   *
   * @param {HTMLInputElement} field
   * @returns {Point[] | null}
   */
  typed(field) {
    if (field.name === "points") return this.points;
    if (!["x", "y", "x2", "y2"].includes(field.name)) return null;
    const one = this.#number("x", "y");
    const two = this.#number("x2", "y2");
    const points =
      one && two && this.mark === "box" ? boxOf(one, two) : one ? [one] : [];
    const text = this.#field("points");
    if (text) text.value = writePoints(points);
    return points;
  }

  /** @param {string} x @param {string} y @returns {Point | null} */
  #number(x, y) {
    const at = { x: this.#field(x)?.value ?? "", y: this.#field(y)?.value ?? "" };
    if (at.x === "" || at.y === "") return null;
    const point = { x: Number(at.x), y: Number(at.y) };
    return this.#inMm
      ? fromMm(point, this.format)
      : { x: point.x / 100, y: point.y / 100 };
  }
}
