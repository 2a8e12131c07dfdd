import { ASSUMED, believed, cssPerMm, measured, shownAs } from "#lib/true_size.js";
import { whenStanding } from "#viewing/picture.js";

/** @typedef {import("#viewing/stand.js").Stand} Stand */

const KEPT = "board:device-pixels-per-mm";

/**
 * `<board-true-size>`: shows the sheet at its printed size, once somebody measured this
 * screen against a card or a ruler; remembered on this device only.
 */
class BoardTrueSize extends HTMLElement {
  #ended = new AbortController();
  /** @type {Stand | null} */
  #stand = null;

  connectedCallback() {
    const { signal } = this.#ended;
    whenStanding(signal, (stand) => {
      this.#stand = stand;
      stand.viewer.addHandler("animation-finish", () => this.#tell());
      this.#tell();
    });
    this.addEventListener("click", (event) => this.#clicked(event), { signal });
    this.addEventListener("input", () => this.#draw(), { signal });
    this.addEventListener("board:true-size", () => this.#trueSize(), { signal });
    this.#dialog?.addEventListener("close", () => this.#closed(), { signal });
  }

  disconnectedCallback() {
    this.#ended.abort();
  }

  get #dialog() {
    return this.querySelector("dialog");
  }

  /** Device pixels a millimetre as they were measured here, or 0. */
  get #device() {
    try {
      return believed(localStorage.getItem(KEPT));
    } catch {
      return 0;
    }
  }

  /** Pixels of the page a millimetre at true size. */
  get #truePerMm() {
    return this.#device ? cssPerMm(this.#device, devicePixelRatio) : ASSUMED;
  }

  /** @param {Event} event */
  #clicked(event) {
    const target = /** @type {Element} */ (event.target);
    if (target.closest("[data-true-size]")) this.#trueSize();
    if (target.closest("[data-measure]")) this.#measure();
  }

  #trueSize() {
    if (this.#device) this.#stand?.scaleTo(this.#truePerMm);
    else this.#measure();
  }

  #measure() {
    const dialog = this.#dialog;
    if (!dialog) return;
    this.closest("details")?.setAttribute("open", "");
    dialog.returnValue = "";
    dialog.showModal();
    const bar = this.#bar;
    const room = bar?.parentElement?.clientWidth ?? 0;
    const field = this.#field("length");
    if (!bar || !field) return;
    const narrow = this.#truePerMm * 85.6 > room;
    if (narrow) this.#choose("53.98");
    field.max = String(Math.floor(room));
    field.value = String(Math.round(this.#truePerMm * this.#gauge));
    this.#draw();
  }

  /** @param {string} mm */
  #choose(mm) {
    const choice = this.querySelector(`[name="gauge"][value="${mm}"]`);
    if (choice instanceof HTMLInputElement) choice.checked = true;
  }

  /** @returns {HTMLElement | null} */
  get #bar() {
    return this.querySelector("[data-bar]");
  }

  /** @param {string} name @returns {HTMLInputElement | null} */
  #field(name) {
    return this.querySelector(`[name="${name}"]`);
  }

  get #gauge() {
    /** @type {HTMLInputElement | null} */
    const chosen = this.querySelector('[name="gauge"]:checked');
    return Number(chosen?.value ?? 85.6);
  }

  #draw() {
    const length = this.#field("length")?.value ?? "0";
    this.#bar?.style.setProperty("inline-size", `${length}px`);
  }

  #closed() {
    const length = Number(this.#field("length")?.value);
    if (this.#dialog?.returnValue === "keep") {
      const device = believed(measured(length, this.#gauge, devicePixelRatio));
      try {
        if (device) localStorage.setItem(KEPT, String(device));
      } catch {
        // A closed store: the figure serves this page alone.
      }
    }
    this.#stand?.scaleTo(this.#truePerMm);
    this.#stand?.canvas.focus({ preventScroll: true });
  }

  /** Say how large the sheet is shown. */
  #tell() {
    const says = this.querySelector("[data-scale]");
    if (!says || !this.#stand) return;
    const share = shownAs(this.#stand.pixelsPerMm, this.#truePerMm);
    const guess = this.#device ? "" : ", guessed: this screen was not measured";
    says.textContent = `${share} of true size${guess}`;
  }
}

customElements.define("board-true-size", BoardTrueSize);
