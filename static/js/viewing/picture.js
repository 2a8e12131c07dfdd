import { keepFresh } from "#viewing/fresh_addresses.js";
import { fetchLibrary } from "#viewing/library.js";
import { Stand } from "#viewing/stand.js";

/**
 * @typedef {import("#viewing/tile_source.js").Picture} Picture
 * @typedef {import("#lib/sheet.js").Format} Format
 * @typedef {{ format: Format, fresh: string, name: string, picture: Picture | null,
 *   boxes: { sort: string, label: string, x: number, y: number, width: number,
 *   height: number }[],
 *   type?: { words: string, face: string, sizePt: number, leadingPt: number } }} Told
 */

/** What the server told the page in a block of JSON. @param {string} id */
export function told(id) {
  const block = document.getElementById(id);
  return JSON.parse(block?.textContent ?? "null");
}

/**
 * `<board-picture>`: one laid revision, at any zoom, on a neutral surround.
 *
 * Without scripts it shows the still picture inside it. Sends `board:stand` once the
 * stand is there; other elements ask for it by `stand`.
 */
export class BoardPicture extends HTMLElement {
  #ended = new AbortController();

  /** @type {Stand | null} */
  stand = null;

  connectedCallback() {
    /** @type {Told} */
    const page = told(this.dataset.told ?? "");
    if (!page?.picture) return;
    this.told = page;
    this.#begin(page, page.picture);
  }

  /** @param {Told} page @param {Picture} picture */
  async #begin(page, picture) {
    try {
      await fetchLibrary(this);
    } catch {
      return this.#failed();
    }
    // Taken away, or blanked, while the library was on its way.
    if (!this.isConnected || this.#ended.signal.aborted) return;
    const element = document.createElement("div");
    element.className = "picture-stand";
    this.append(element);
    const stand = new Stand(element, page.format);
    stand.call(page.name, this.dataset.how ?? "");
    this.stand = stand;
    this.#open(stand, picture, page.fresh);
  }

  disconnectedCallback() {
    this.#ended.abort();
    this.stand?.viewer.destroy();
    this.stand = null;
  }

  /** Take the art away, for somebody whose credit has ended. */
  blank() {
    this.#ended.abort();
    this.stand?.viewer.destroy();
    this.stand = null;
    this.replaceChildren();
    this.classList.add("is-blank");
  }

  /** @param {Stand} stand @param {Picture} picture @param {string} fresh */
  async #open(stand, picture, fresh) {
    try {
      const laid = await stand.lay(picture);
      stand.wholeSheet(true);
      laid.whenFullyLoaded(() => this.classList.add("is-open"));
    } catch {
      return this.#failed();
    }
    keepFresh(stand, [picture], fresh, this.#ended.signal);
    this.dataset.standing = "yes";
    this.dispatchEvent(new CustomEvent("board:stand", { bubbles: true }));
  }

  #failed() {
    const detail = "The picture could not be opened. Load the page again.";
    this.dispatchEvent(new CustomEvent("board:says", { bubbles: true, detail }));
  }
}

/** The picture a part of the page belongs to. @returns {BoardPicture | null} */
export function pictureOfPage() {
  return document.querySelector("board-picture");
}

/**
 * Do something with the stand, now or as soon as it is there.
 *
 * @param {AbortSignal} signal
 * @param {(stand: Stand, picture: BoardPicture) => void} then
 */
export function whenStanding(signal, then) {
  const picture = pictureOfPage();
  if (picture?.stand && picture.dataset.standing) {
    then(picture.stand, picture);
    return;
  }
  picture?.addEventListener(
    "board:stand",
    () => {
      if (picture.stand) then(picture.stand, picture);
    },
    { once: true, signal },
  );
}

customElements.define("board-picture", BoardPicture);
