import { choicesOf, passes, told } from "#lib/sieving.js";
import { tissueOfPage } from "#tissue/tissue.js";

/**
 * `<board-sieve>`: chooses which notes lie on the tissue and stand on the sheet below.
 * It reads the rows and hides those that do not pass; nothing is fetched.
 */
class BoardSieve extends HTMLElement {
  #ended = new AbortController();

  connectedCallback() {
    const { signal } = this.#ended;
    this.addEventListener("change", () => this.#sift(), { signal });
    this.addEventListener("click", (event) => this.#clicked(event), { signal });
    document.addEventListener("board:swapped", () => this.#sift(), { signal });
    this.#sift();
  }

  disconnectedCallback() {
    this.#ended.abort();
  }

  /** @param {Event} event */
  #clicked(event) {
    if (!(/** @type {Element} */ (event.target).closest("[data-all]"))) return;
    for (const field of this.#fields()) field.value = "";
    this.#sift();
  }

  /** @returns {HTMLSelectElement[]} */
  #fields() {
    return [...this.querySelectorAll("select")];
  }

  #sift() {
    const rows = /** @type {HTMLElement[]} */ ([
      ...document.querySelectorAll("[data-mark][data-key]"),
    ]);
    const notes = rows.map(({ dataset }) => ({
      sort: dataset.sort ?? "",
      by: dataset.by ?? "",
      ended: dataset.ended === "yes",
      made: dataset.made ?? "",
    }));
    this.hidden = notes.length === 0;
    this.#offer(choicesOf(notes));
    const sieve = Object.fromEntries(
      this.#fields().map((field) => [field.name, field.value]),
    );
    const wanted = { sort: "", by: "", state: "", made: "", ...sieve };
    let shown = 0;
    for (const [index, row] of rows.entries()) {
      row.hidden = !passes(notes[index], wanted);
      if (!row.hidden) shown += 1;
    }
    const ended = document.querySelector("#ended-notes");
    if (wanted.state === "ended" && ended) ended.setAttribute("open", "");
    const says = this.querySelector("[data-sifted]");
    if (says) says.textContent = told(shown, notes.length);
    tissueOfPage()?.redraw();
  }

  /** @param {Record<string, string[]>} choices */
  #offer(choices) {
    for (const [name, values] of Object.entries(choices)) {
      const field = this.#fields().find((one) => one.name === name);
      if (!field) continue;
      const kept = field.value;
      const [any] = field.options;
      field.replaceChildren(any, ...values.map((value) => new Option(value, value)));
      field.value = values.includes(kept) ? kept : "";
    }
  }
}

customElements.define("board-sieve", BoardSieve);
