import { mayLift } from "#lib/lifting.js";
import { within } from "#lib/look.js";
import { Stand } from "#viewing/stand.js";
import { library } from "#viewing/tile_source.js";

/**
 * Two laid pictures on one stand, each at its place on the sheet, and a second stand for
 * looking side by side.
 *
 * @typedef {import("#lib/look.js").Look} Look
 * @typedef {import("#viewing/stand.js").Laid} Laid
 * @typedef {import("#viewing/tile_source.js").Picture} Picture
 * @typedef {{ format: import("#lib/sheet.js").Format, before: Picture, after: Picture,
 *   names: string[] }} Told
 */

export class Pair {
  #lifted = Number.NEGATIVE_INFINITY;
  #onTop = "before";
  #left = Number.NaN;
  /** @type {Look | null} */
  #look = null;
  #moving = false;

  /**
   * @param {HTMLElement} root
   * @param {Told} page
   */
  constructor(root, page) {
    this.root = root;
    this.page = page;
    const first = this.#one("[data-stand]");
    const second = this.#one("[data-second]");
    second.hidden = false;
    this.stand = new Stand(first, page.format);
    this.second = new Stand(second, page.format);
    this.stand.call("The two revisions", "keys-help");
    this.second.call("The revision after", "keys-help");
  }

  /** @param {string} selector @returns {HTMLElement} */
  #one(selector) {
    return /** @type {HTMLElement} */ (this.root.querySelector(selector));
  }

  async lay() {
    const { before, after } = this.page;
    this.before = await this.stand.lay(before);
    this.after = await this.stand.lay(after);
    this.alone = await this.second.lay(after);
    this.#one("[data-second]").hidden = true;
    this.#takeSize(this.stand);
    this.stand.wholeSheet(true);
    this.stand.onView(() => {
      this.#lead(this.stand, this.second);
      this.#slide();
    });
    this.second.onView(() => this.#lead(this.second, this.stand));
  }

  takeDown() {
    this.stand.viewer.destroy();
    this.second.viewer.destroy();
  }

  /** @param {() => void} listener told when the view came to rest */
  onChange(listener) {
    this.stand.viewer.addHandler("animation-finish", listener);
  }

  /** Where the view is, for the address. */
  place() {
    const { x, y } = this.stand.middle();
    return { x, y, zoom: this.stand.viewport.getZoom(true) };
  }

  /** @param {Look} look */
  lookFrom(look) {
    if (look.zoom <= 0) return;
    const { Point } = library();
    const { viewport, ratio } = this.stand;
    viewport.zoomTo(look.zoom, undefined, true);
    viewport.panTo(new Point(look.x, look.y * ratio), true);
  }

  /**
   * Make the pair lie as the look says; gives the numbers as they really are.
   *
   * @param {Look} look
   */
  apply(look) {
    const over = within(look.over, 0, 100);
    const edge = within(look.edge, 0, 100);
    this.#look = { ...look, over, edge };
    const aside = look.view === "side-by-side";
    const changed = this.#one("[data-second]").hidden === aside;
    this.#one("[data-second]").hidden = !aside;
    this.#one("[data-edge]").hidden = look.view !== "slide";
    this.root.classList.toggle("is-side-by-side", aside);
    if (changed) this.#fitAgain();
    this.#after.setOpacity(this.#opacity(look.view, over));
    this.#slide();
    this.stand.viewer.forceRedraw();
    return { over, edge };
  }

  /** @param {string} view @param {number} over */
  #opacity(view, over) {
    if (view === "lay-over") return over / 100;
    if (view === "lift") return this.#onTop === "after" ? 1 : 0;
    return view === "side-by-side" ? 0 : 1;
  }

  get #after() {
    return /** @type {Laid} */ (this.after);
  }

  /** Who lies on top where the pair is lifted. */
  get top() {
    return this.#onTop;
  }

  /** Lift the upper sheet off, if the last lift is long enough ago. @returns {string} who is on top, or "" */
  lift() {
    const now = performance.now();
    if (!this.#look || !mayLift(now, this.#lifted)) return "";
    this.#lifted = now;
    this.#onTop = this.#onTop === "before" ? "after" : "before";
    this.apply(this.#look);
    return this.#onTop;
  }

  /** Cut the upper picture at the straight edge. */
  #slide() {
    const look = this.#look;
    if (!look) return;
    const { Rect } = library();
    const source = this.#after.source.dimensions;
    const sheet = this.stand.bledPixels(this.page.after);
    let left = sheet.x;
    if (look.view === "slide") {
      const { clientWidth } = this.stand.viewer.container;
      const at = this.stand.toSheet({ x: (clientWidth * look.edge) / 100, y: 0 }).x;
      const { x, width } = this.page.after.rect;
      left = within(((at - x) / width) * source.x, sheet.x, sheet.x + sheet.width);
      this.#one("[data-edge]").style.insetInlineStart = `${look.edge}%`;
    }
    // Only the slide's edge moves over the picture; a clip set anew is drawn anew.
    if (left === this.#left) return;
    this.#left = left;
    const width = sheet.x + sheet.width - left;
    this.#after.setClip(new Rect(left, sheet.y, Math.max(width, 0.01), sheet.height));
  }

  /** @param {Stand} stand */
  #takeSize({ viewer, viewport }) {
    const { Point } = library();
    const { clientWidth, clientHeight } = viewer.container;
    if (clientWidth > 0) viewport.resize(new Point(clientWidth, clientHeight), false);
  }

  /** The stands changed size: the part of the sheet that was in view fills them again. */
  #fitAgain() {
    const seen = this.stand.seen();
    requestAnimationFrame(() => {
      for (const stand of [this.stand, this.second]) {
        this.#takeSize(stand);
        stand.fit(seen, true);
        stand.viewer.forceRedraw();
      }
      this.stand.viewer.raiseEvent("animation-finish", {});
    });
  }

  /** One stand's view leads the other's. @param {Stand} from @param {Stand} to */
  #lead(from, to) {
    if (this.#moving || this.#look?.view !== "side-by-side") return;
    this.#moving = true;
    to.viewport.zoomTo(from.viewport.getZoom(true), undefined, true);
    to.viewport.panTo(from.viewport.getCenter(true), true);
    this.#moving = false;
  }
}
