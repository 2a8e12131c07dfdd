import { ask } from "#revisions/ask.js";

/** @typedef {import("#revisions/ask.js").Progress} Progress */

const LOOK_MS = 1000;
const MISSED_MS = 5000;

/** A preparation's steps as they happen; when it is over the whole entry is drawn anew. */
class BoardProgress extends HTMLElement {
  #over = new AbortController();

  connectedCallback() {
    this.#over = new AbortController();
    this.#look();
  }

  disconnectedCallback() {
    this.#over.abort();
  }

  async #look() {
    const address = this.dataset.address ?? "";
    while (!this.#over.signal.aborted) {
      /** @type {Progress | null} */
      const told = await ask(address).catch(() => null);
      if (told) this.#show(told);
      if (told?.over) return this.#draw(address);
      const wait = told ? LOOK_MS : MISSED_MS;
      await new Promise((resolve) => setTimeout(resolve, wait));
    }
  }

  /** @param {Progress} told */
  #show(told) {
    const bar = this.querySelector("progress");
    const words = this.querySelector("[aria-live]");
    if (bar) bar.value = told.share;
    if (words && words.textContent !== told.says) words.textContent = told.says;
  }

  /** Fetch the entry as the server draws it. @param {string} address */
  async #draw(address) {
    const answer = await fetch(address, { headers: { Accept: "text/html" } });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const entry = page.querySelector(".lying");
    const here = this.closest(".lying");
    if (entry && here) here.replaceWith(document.adoptNode(entry));
  }
}

customElements.define("board-progress", BoardProgress);
