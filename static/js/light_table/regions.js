import { drawn, Overlay } from "#viewing/overlay.js";

/**
 * The changed places, outlined over both stands; read from the list's own rows.
 *
 * @typedef {import("#lib/sheet.js").Rect} Rect
 */

export class Regions {
  #shown = false;
  #picked = "";

  /**
   * @param {HTMLElement} root holds the list
   * @param {import("#light_table/pair.js").Pair} pair
   */
  constructor(root, pair) {
    this.root = root;
    const draw = (/** @type {Overlay} */ overlay) => this.#draw(overlay);
    this.overlays = [pair.stand, pair.second].map(
      (stand) => new Overlay(stand, "regions", draw),
    );
  }

  /** @returns {{ key: string, rect: Rect }[]} */
  #places() {
    return [...this.root.querySelectorAll("[data-change]")].map((row) => {
      const { dataset } = /** @type {HTMLElement} */ (row);
      const [x, y, width, height] = [
        dataset.x,
        dataset.y,
        dataset.width,
        dataset.height,
      ].map(Number);
      return { key: dataset.change ?? "", rect: { x, y, width, height } };
    });
  }

  keys() {
    return this.#places().map((place) => place.key);
  }

  /** @param {boolean} on */
  show(on) {
    this.#shown = on;
    this.redraw();
  }

  redraw() {
    for (const overlay of this.overlays) overlay.redraw();
  }

  /** @param {string} key @returns {Rect | undefined} its place on the sheet */
  pick(key) {
    this.#picked = key;
    for (const row of this.root.querySelectorAll("[data-change]"))
      row.classList.toggle("is-picked", row.getAttribute("data-change") === key);
    this.redraw();
    return this.#places().find((place) => place.key === key)?.rect;
  }

  /** @param {Overlay} overlay */
  #draw(overlay) {
    const places = this.#places().filter(
      ({ key }) => this.#shown || key === this.#picked,
    );
    overlay.svg.replaceChildren(
      ...places.flatMap(({ key, rect }) => {
        const box = overlay.rect(rect);
        const at = {
          x: box.x - 3,
          y: box.y - 3,
          width: box.width + 6,
          height: box.height + 6,
        };
        const picked = key === this.#picked ? " is-picked" : "";
        return [
          drawn("rect", { class: "region-casing", ...at }),
          drawn("rect", { class: `region${picked}`, ...at }),
          drawn("text", { class: "region-name", x: at.x, y: at.y - 5 }, key),
        ];
      }),
    );
  }
}
