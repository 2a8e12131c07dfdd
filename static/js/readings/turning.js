/**
 * The book as its reader meets it: one opening at a time, nothing round it but a clock.
 *
 * Without this script all openings stand below each other.
 */

import { clock, turned, wayOf } from "#lib/turning.js";

class Turning extends HTMLElement {
  at = 0;
  began = Date.now();
  /** @type {Element[]} */
  openings = [];

  connectedCallback() {
    this.gone = new AbortController();
    const signal = this.gone.signal;
    this.openings = [...this.querySelectorAll("[data-opening]")];
    document.addEventListener("keydown", (event) => this.onKey(event), { signal });
    this.addEventListener("click", (event) => this.onTap(event), { signal });
    document
      .querySelector("[data-open-again]")
      ?.addEventListener("click", () => this.takeUp(), { signal });
    this.ticking = setInterval(() => this.tick(), 1000);
    this.takeUp();
  }

  disconnectedCallback() {
    clearInterval(this.ticking);
    this.gone?.abort();
  }

  get isUp() {
    return this.hasAttribute("data-up");
  }

  takeUp() {
    this.setAttribute("data-up", "");
    document.body.classList.add("reading-up");
    this.show(Math.min(this.at, this.openings.length - 1));
    this.again(false);
    this.tick();
  }

  putDown() {
    this.removeAttribute("data-up");
    document.body.classList.remove("reading-up");
    this.again(true);
    document.getElementById("remark")?.focus();
  }

  /** @param {boolean} offered */
  again(offered) {
    document.querySelector("[data-again]")?.toggleAttribute("hidden", !offered);
  }

  /** @param {number} at */
  show(at) {
    this.at = at;
    if (at >= this.openings.length) {
      this.putDown();
      return;
    }
    for (const [number, one] of this.openings.entries())
      one.toggleAttribute("data-open", number === at);
    const open = this.openings[at];
    if (open instanceof HTMLElement) open.focus({ preventScroll: true });
    const next = this.openings[at + 1]?.querySelector("img");
    if (next) next.loading = "eager";
  }

  /** @param {KeyboardEvent} event */
  onKey(event) {
    if (!this.isUp || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Escape") {
      event.preventDefault();
      this.putDown();
      return;
    }
    const way = wayOf(event.key);
    if (way === 0) return;
    event.preventDefault();
    this.show(turned(this.at, way, this.openings.length));
  }

  /** @param {MouseEvent} event */
  onTap(event) {
    if (!this.isUp) return;
    const way = event.clientX < window.innerWidth / 3 ? -1 : 1;
    this.show(turned(this.at, way, this.openings.length));
  }

  tick() {
    const shown = this.querySelector("[data-clock]");
    if (shown) shown.textContent = clock((Date.now() - this.began) / 1000);
  }
}

customElements.define("board-turning", Turning);
