import { listen } from "#viewing/live.js";

const CHANGES = new Set([
  "sitting opened",
  "sitting planned anew",
  "sitting called off",
  "missed",
]);

/** `<board-agenda>`: the page of a planned sitting turns into its table by itself. */
export class BoardAgenda extends HTMLElement {
  #ended = new AbortController();

  connectedCallback() {
    const ears = {
      entered: (/** @type {string} */ _item, /** @type {string} */ kind) => {
        if (CHANGES.has(kind)) location.reload();
      },
      line: (/** @type {boolean} */ up) =>
        this.querySelector("[data-by-hand]")?.toggleAttribute("hidden", up),
      ended: () => location.reload(),
    };
    listen(this.dataset.live ?? "", ears, this.#ended.signal);
  }

  disconnectedCallback() {
    this.#ended.abort();
  }
}

customElements.define("board-agenda", BoardAgenda);
