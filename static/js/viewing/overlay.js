/**
 * A transparent drawing over a stand, drawn anew whenever the view moves.
 *
 * @typedef {import("#viewing/stand.js").Stand} Stand
 * @typedef {import("#lib/sheet.js").Rect} Rect
 */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @param {string} name
 * @param {Record<string, string | number>} [attributes]
 * @param {string} [text]
 */
export function drawn(name, attributes = {}, text = "") {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes))
    element.setAttribute(key, String(value));
  if (text) element.textContent = text;
  return element;
}

export class Overlay {
  #asked = 0;

  /**
   * @param {Stand} stand
   * @param {string} className
   * @param {(overlay: Overlay) => void} draw
   */
  constructor(stand, className, draw) {
    this.stand = stand;
    this.svg = drawn("svg", { class: className, "aria-hidden": "true" });
    stand.viewer.canvas.after(this.svg);
    this.#draw = () => draw(this);
    stand.onView(() => this.#draw());
    this.redraw();
  }

  /** @type {() => void} */
  #draw;

  /** Draw again at the next frame, once however often it was asked. */
  redraw() {
    if (this.#asked) return;
    this.#asked = requestAnimationFrame(() => {
      this.#asked = 0;
      this.#draw();
    });
  }

  /** @returns {Rect} the stand's own size in pixels */
  get view() {
    const { clientWidth, clientHeight } = this.stand.viewer.container;
    return { x: 0, y: 0, width: clientWidth, height: clientHeight };
  }

  /** @param {Rect} rect on the sheet @returns {Rect} in pixels */
  rect(rect) {
    const head = this.stand.toScreen({ x: rect.x, y: rect.y });
    const foot = this.stand.toScreen({
      x: rect.x + rect.width,
      y: rect.y + rect.height,
    });
    return { x: head.x, y: head.y, width: foot.x - head.x, height: foot.y - head.y };
  }
}
