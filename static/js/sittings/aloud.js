/** The reading on every screen: one page at a time, and a clock. */

export class Aloud {
  /** @param {HTMLElement} root holds `[data-pages]` */
  constructor(root) {
    this.root = root;
    this.page = 0;
  }

  get pages() {
    return Number(this.root.querySelector("[data-pages]")?.getAttribute("data-pages"));
  }

  /** @param {number} page */
  turnTo(page) {
    this.page = Math.max(0, Math.min(page, this.pages - 1));
    for (const one of this.root.querySelectorAll("[data-page]"))
      one.toggleAttribute(
        "hidden",
        one.getAttribute("data-page") !== String(this.page),
      );
    const after = this.root.querySelector(`[data-page="${this.page + 1}"] img`);
    if (after instanceof HTMLImageElement) after.loading = "eager";
  }

  /** @param {boolean} leads whether this person turns the pages */
  lead(leads) {
    this.root.querySelector("[data-page-turns]")?.toggleAttribute("hidden", !leads);
  }

  /** @param {number} began seconds since 1970 */
  tick(began) {
    const clock = this.root.querySelector("[data-clock]");
    if (!clock || !began) return;
    const seconds = Math.max(0, Math.floor(Date.now() / 1000 - began));
    const rest = String(seconds % 60).padStart(2, "0");
    clock.textContent = `${Math.floor(seconds / 60)}:${rest}`;
  }
}
