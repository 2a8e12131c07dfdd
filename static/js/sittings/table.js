import { within } from "#lib/look.js";
import { Pair } from "#light_table/pair.js";
import { onEdge } from "#light_table/straight_edge.js";
import { keepFresh } from "#viewing/fresh_addresses.js";
import { told } from "#viewing/picture.js";

/**
 * What lies on the table of a sitting: one item, alone or over the revision before it.
 *
 * @typedef {{ view: string, x: number, y: number, wide: number, high: number,
 *   over: number, edge: number, top: string, page: number }} Look
 */

const REST_MS = 180;

export class Table {
  #ended = new AbortController();
  #led = 0;
  #rest = 0;
  /** @type {Look} */
  look = {
    view: "sheet",
    x: 0.5,
    y: 0.5,
    wide: 0,
    high: 0,
    over: 50,
    edge: 50,
    top: "before",
    page: 0,
  };
  /** @type {Pair | null} */
  pair = null;

  /**
   * @param {HTMLElement} root holds `[data-on-table]`
   * @param {{ moved(look: Partial<Look>): void, taken(): void }} ears told when this
   *   person moved the view, and when they first touch it
   */
  constructor(root, ears) {
    this.root = root;
    this.ears = ears;
    this.item = root.querySelector("[data-on-table]")?.getAttribute("data-on-table");
  }

  get stand() {
    return this.pair?.stand ?? null;
  }

  async lay() {
    const block = this.root.querySelector("#told");
    if (!block) return;
    const page = told("told");
    const alone = !page.before;
    if (alone) page.before = page.after;
    const pair = new Pair(this.root, page);
    this.pair = pair;
    await pair.lay();
    if (this.#ended.signal.aborted) return;
    this.root.querySelector("[data-still]")?.remove();
    const fresh = this.root.querySelector("[data-fresh]")?.getAttribute("data-fresh");
    for (const stand of [pair.stand, pair.second])
      keepFresh(stand, [page.before, page.after], fresh ?? "", this.#ended.signal);
    this.#furnish(page);
    this.#listen(pair);
    this.show({});
  }

  /** Let the tissue draw on this stand. @param {any} page what the server told */
  #furnish(page) {
    const picture = /** @type {import("#viewing/picture.js").BoardPicture | null} */ (
      this.root.querySelector("board-picture")
    );
    if (!picture || !this.pair) return;
    picture.told = page;
    picture.stand = this.pair.stand;
    picture.dataset.standing = "yes";
    picture.dispatchEvent(new CustomEvent("board:stand", { bubbles: true }));
  }

  /** @param {Pair} pair */
  #listen(pair) {
    const { signal } = this.#ended;
    const touched = () => this.#touch();
    for (const name of ["canvas-drag", "canvas-scroll", "canvas-pinch"])
      pair.stand.viewer.addHandler(/** @type {any} */ (name), touched);
    pair.stand.viewer.addHandler("animation-finish", () => this.#rested());
    pair.stand.viewer.addHandler("animation", () => this.#rested());
    const edge = this.root.querySelector("[data-edge]");
    if (edge instanceof HTMLElement)
      onEdge(
        edge,
        () => this.look.edge,
        (at) => this.choose({ edge: at }),
        signal,
      );
    this.root.addEventListener(
      "input",
      (event) => {
        const { name, value } = /** @type {HTMLInputElement} */ (event.target);
        const at = Number(value);
        if (value === "" || !Number.isFinite(at)) return;
        if (name === "over" || name === "edge") this.choose({ [name]: at });
      },
      { signal },
    );
  }

  /** This person takes the view into their own hands. */
  #touch() {
    this.#led = 0;
    this.ears.taken();
  }

  /** Something the person chose themselves: a view, an edge. @param {Partial<Look>} change */
  choose(change) {
    this.#touch();
    this.show(change);
    this.ears.moved(change);
  }

  lift() {
    if (this.look.view !== "lift" || !this.pair?.lift()) return;
    this.#touch();
    this.look.top = this.pair.top;
    this.ears.moved({ top: this.look.top });
  }

  /** The view moves: tell it now and then and at its rest, unless it was led here. */
  #rested() {
    if (this.#rest) return;
    this.#rest = window.setTimeout(() => {
      this.#rest = 0;
      if (this.#led > performance.now() || !this.stand) return;
      const seen = this.stand.seen();
      if (seen.width <= 0 || seen.height <= 0) return;
      this.ears.moved({
        x: seen.x + seen.width / 2,
        y: seen.y + seen.height / 2,
        wide: seen.width,
        high: seen.height,
      });
    }, REST_MS);
  }

  /** Lie as the chair's look says. @param {Look} look */
  follow(look) {
    this.#led = performance.now() + 1500;
    const { x, y, wide, high } = look;
    if (wide > 0 && high > 0)
      this.stand?.fit({ x: x - wide / 2, y: y - high / 2, width: wide, height: high });
    else this.stand?.wholeSheet();
    this.show(look);
    if (this.pair && look.view === "lift" && this.pair.top !== look.top) {
      // Never faster than the light table lifts for whoever presses.
      if (!this.pair.lift()) window.setTimeout(() => this.follow(this.look), 600);
    }
  }

  /** @param {Partial<Look>} change */
  show(change) {
    this.look = { ...this.look, ...change };
    const { over, edge, view } = this.look;
    this.pair?.apply({ ...this.look, zoom: 0, change: "", before: "", after: "" });
    for (const button of this.root.querySelectorAll("button[data-view]"))
      button.setAttribute(
        "aria-current",
        String(button.getAttribute("data-view") === view),
      );
    for (const way of this.root.querySelectorAll("[data-way]"))
      way.toggleAttribute("hidden", way.getAttribute("data-way") !== view);
    this.#number("over", over);
    this.#number("edge", edge);
    this.root
      .querySelector("[data-edge]")
      ?.setAttribute("aria-valuenow", String(Math.round(edge)));
  }

  /** @param {string} name @param {number} value */
  #number(name, value) {
    const field = this.root.querySelector(`[name="${name}"]`);
    if (field instanceof HTMLInputElement && field !== document.activeElement)
      field.value = String(Math.round(within(value, 0, 100)));
  }

  takeDown() {
    this.#ended.abort();
    clearTimeout(this.#rest);
    this.pair?.takeDown();
    this.pair = null;
  }
}
