import { readLook, writeLook } from "#lib/look.js";
import { stepFrom } from "#lib/stepping.js";
import { Pair } from "#light_table/pair.js";
import { Regions } from "#light_table/regions.js";
import { onEdge } from "#light_table/straight_edge.js";
import { enliven } from "#viewing/forms.js";
import { keepFresh } from "#viewing/fresh_addresses.js";
import { freshenCrops } from "#viewing/fresh_crops.js";
import { lookingKeys, onKeys, onWords } from "#viewing/keys.js";
import { fetchLibrary } from "#viewing/library.js";
import { noticeIn } from "#viewing/notice.js";
import { ask, parsed, swapAll } from "#viewing/parts.js";
import { told } from "#viewing/picture.js";

/**
 * @typedef {import("#lib/look.js").Look} Look
 * @typedef {import("#viewing/tile_source.js").Picture} Picture
 * @typedef {{ format: import("#lib/sheet.js").Format, fresh: string, before: Picture,
 *   after: Picture, names: string[] }} Told
 */

const AGAIN_MS = 700;
const STEP = 5;

/** `<board-table>`: the light table; its address is a link to exactly this look. */
class BoardTable extends HTMLElement {
  #ended = new AbortController();
  #timer = 0;
  #written = 0;
  /** @type {Look} */
  #look = readLook(location.search);
  /** @type {Pair | null} */
  #pair = null;
  /** @type {Regions | null} */
  #regions = null;
  /** @type {(words: string, wrong?: boolean) => void} */
  #say = () => {};

  connectedCallback() {
    const { signal } = this.#ended;
    this.#say = noticeIn(this);
    /** @type {Told} */
    const page = told(this.dataset.told ?? "");
    if (!page?.before || !page.after) return;
    this.#look.before = page.before.revision;
    this.#look.after = page.after.revision;
    this.#look.view = this.dataset.view ?? this.#look.view;
    enliven(this, this.#say);
    freshenCrops(this, () => this.#askChanges(this.dataset.changes ?? ""), signal);
    this.#listen(signal);
    this.#lay(page, signal);
  }

  disconnectedCallback() {
    this.#ended.abort();
    clearTimeout(this.#timer);
    clearTimeout(this.#written);
    this.#pair?.takeDown();
  }

  /** @param {string} selector @returns {HTMLElement} */
  #one(selector) {
    return /** @type {HTMLElement} */ (this.querySelector(selector));
  }

  /** @param {Told} page @param {AbortSignal} signal */
  async #lay(page, signal) {
    try {
      await fetchLibrary(this);
      if (signal.aborted) return;
      this.#pair = new Pair(this, page);
      await this.#pair.lay();
    } catch {
      this.#say("The pictures could not be opened. Load the page again.", true);
      return;
    }
    const pair = this.#pair;
    this.#one("[data-stills]").hidden = true;
    for (const stand of [pair.stand, pair.second])
      keepFresh(stand, [page.before, page.after], page.fresh, signal);
    this.#regions = new Regions(this, pair);
    pair.lookFrom(this.#look);
    pair.onChange(() => this.#write());
    this.#show(this.#look.view);
    if (this.#look.change) this.#pick(this.#look.change);
    this.#followComparison();
  }

  /** @param {AbortSignal} signal */
  #listen(signal) {
    const standing = () => this.#pair?.stand ?? null;
    onWords(this, standing, signal);
    onKeys(this, "[data-keys]", this.#keys(standing), signal);
    this.addEventListener("click", (event) => this.#clicked(event), { signal });
    this.addEventListener("input", (event) => this.#typed(event), { signal });
    document.addEventListener("board:swapped", () => this.#followComparison(), {
      signal,
    });
    onEdge(
      this.#one("[data-edge]"),
      () => this.#look.edge,
      (edge) => this.#set({ edge }),
      signal,
    );
  }

  /** @param {() => import("#viewing/stand.js").Stand | null} standing */
  #keys(standing) {
    return {
      ...lookingKeys(standing),
      o: () => this.#show("lay-over"),
      s: () => this.#show("slide"),
      l: () => this.#show("lift"),
      d: () => this.#show("side-by-side"),
      c: () => this.#show("change-map"),
      n: () => this.#step(1),
      b: () => this.#step(-1),
      "[": () => this.#nudge(-STEP),
      "]": () => this.#nudge(STEP),
      Enter: () => this.#lift(),
    };
  }

  /** @param {Event} event */
  #clicked(event) {
    const target = /** @type {Element} */ (event.target);
    const view = target.closest("[data-view]");
    if (view && view !== this) this.#show(view.getAttribute("data-view") ?? "");
    if (target.closest("[data-lift]")) this.#lift();
    const step = target.closest("[data-step]");
    if (step) this.#step(Number(step.getAttribute("data-step")));
    if (target.closest("[data-put-away]"))
      target.closest("[data-notice]")?.classList.remove("is-up");
    const pick = target.closest("[data-pick]");
    if (!pick) return;
    event.preventDefault();
    this.#pick(pick.getAttribute("data-pick") ?? "");
  }

  /** @param {Event} event */
  #typed(event) {
    const field = /** @type {HTMLInputElement} */ (event.target);
    const value = Number(field.value);
    if (field.value === "" || !Number.isFinite(value)) return;
    if (field.name === "over") this.#set({ over: value });
    if (field.name === "edge") this.#set({ edge: value });
  }

  /** @param {number} by */
  #nudge(by) {
    const { view, over, edge } = this.#look;
    if (view === "lay-over") this.#set({ over: over + by });
    if (view === "slide") this.#set({ edge: edge + by });
  }

  /** @param {Partial<Look>} change */
  #set(change) {
    const pair = /** @type {Pair} */ (this.#pair);
    Object.assign(this.#look, change);
    if (!this.#regions) return; // all is set once the pictures lie
    this.#look = { ...this.#look, ...pair.apply(this.#look) };
    this.#tell();
    this.#write();
  }

  /** @param {string} view */
  #show(view) {
    this.#look.view = view;
    for (const button of this.querySelectorAll("button[data-view]"))
      button.setAttribute(
        "aria-current",
        String(button.matches(`[data-view="${view}"]`)),
      );
    for (const way of this.querySelectorAll("[data-way]"))
      way.toggleAttribute("hidden", !way.matches(`[data-way="${view}"]`));
    this.#set({});
    this.#regions?.show(view === "change-map");
  }

  #lift() {
    if (this.#look.view !== "lift" || !this.#regions) return;
    const top = this.#pair?.lift();
    if (top) this.#one("[data-lifted]").textContent = `${top} is on top`;
  }

  /** Say the numbers where they are set. */
  #tell() {
    const { over, edge } = this.#look;
    const range = /** @type {HTMLInputElement} */ (this.#one('[name="over"]'));
    range.value = String(over);
    this.#one("[data-over]").textContent = `${Math.round(over)} %`;
    const figure = /** @type {HTMLInputElement} */ (this.#one('[name="edge"]'));
    if (figure !== document.activeElement) figure.value = String(Math.round(edge));
    this.#one("[data-edge]").setAttribute("aria-valuenow", String(Math.round(edge)));
  }

  /** @param {number} step */
  #step(step) {
    const keys = this.#regions?.keys() ?? [];
    const key = stepFrom(keys, this.#look.change, step);
    if (key) this.#pick(key);
    else this.#say("No list of changes yet: compare these two first.");
  }

  /** @param {string} key */
  #pick(key) {
    const rect = this.#regions?.pick(key);
    if (!rect) return;
    this.#look.change = key;
    this.#pair?.stand.show(rect);
    this.#write();
  }

  /** Ask again while the pair is being compared, and draw what was found. */
  #followComparison() {
    clearTimeout(this.#timer);
    this.#regions?.redraw();
    const part = this.querySelector('[data-part="changes"][data-again]');
    const again = part?.getAttribute("data-again");
    if (!again) return;
    this.#timer = window.setTimeout(() => this.#askChanges(again), AGAIN_MS);
  }

  /** @param {string} address */
  async #askChanges(address) {
    try {
      const answer = await ask(address);
      if (answer.ok) swapAll(parsed(await answer.text()));
    } catch {
      this.#followComparison();
    }
  }

  /** Keep the address a link to exactly this look. */
  #write() {
    clearTimeout(this.#written);
    this.#written = window.setTimeout(() => {
      Object.assign(this.#look, this.#pair?.place());
      const address = writeLook(this.#look);
      history.replaceState(null, "", address);
      this.#one("[data-this-look]").setAttribute("href", address);
    }, 200);
  }
}

customElements.define("board-table", BoardTable);
