import { guidesOf } from "#lib/sheet.js";
import { drawn, Overlay } from "#viewing/overlay.js";
import { whenStanding } from "#viewing/picture.js";

/**
 * `<board-guides>`: words that call the trim, bleed, safe margin, gutter band and boxes
 * over the art. Its buttons name a guide in `data-guide`; drawn in black and white only.
 */
class BoardGuides extends HTMLElement {
  #ended = new AbortController();

  connectedCallback() {
    const { signal } = this.#ended;
    whenStanding(signal, (stand, picture) => {
      const boxes = (picture.told?.boxes ?? []).map(named);
      this.guides = [
        ...guidesOf(stand.format).map((guide) => ({ ...guide, label: guide.kind })),
        ...boxes.map((box) => ({ kind: box.sort, rect: box, label: box.label })),
      ];
      const overlay = new Overlay(stand, "guides", (over) => this.#draw(over));
      this.addEventListener(
        "click",
        (event) => {
          const target = /** @type {Element} */ (event.target);
          const button = target.closest("[data-guide]");
          if (!button) return;
          this.#press(button);
          overlay.redraw();
        },
        { signal },
      );
      this.addEventListener("board:all-guides", () => this.#pressAll(overlay), {
        signal,
      });
    });
  }

  disconnectedCallback() {
    this.#ended.abort();
  }

  /** @param {Element} button @param {boolean} [on] */
  #press(button, on = button.getAttribute("aria-pressed") !== "true") {
    button.setAttribute("aria-pressed", String(on));
  }

  /** @param {Overlay} overlay */
  #pressAll(overlay) {
    const on = this.#called().size === 0;
    for (const button of this.querySelectorAll("[data-guide]")) this.#press(button, on);
    overlay.redraw();
  }

  /** @returns {Set<string>} the guides that are called now */
  #called() {
    const pressed = this.querySelectorAll('[data-guide][aria-pressed="true"]');
    return new Set([...pressed].map((one) => one.getAttribute("data-guide") ?? ""));
  }

  /** @param {Overlay} overlay */
  #draw(overlay) {
    const called = this.#called();
    const shown = (this.guides ?? []).filter((guide) => called.has(guide.kind));
    overlay.svg.replaceChildren(
      ...shown.flatMap((guide) => {
        const rect = overlay.rect(guide.rect);
        const at = { x: rect.x, y: rect.y, width: rect.width, height: rect.height };
        const name = { class: "guide-name", x: rect.x + 4, y: rect.y - 5 };
        return [
          drawn("rect", { class: "guide-casing", ...at }),
          drawn("rect", { class: `guide guide-${guide.kind}`, ...at }),
          drawn("text", name, guide.label || guide.kind),
        ];
      }),
    );
  }
}

/** Places of checks share a label's room: the first of each kind is named. @template {{ label: string }} Box @param {Box} box @param {number} index @param {Box[]} all */
function named(box, index, all) {
  const first = all.findIndex((other) => other.label === box.label) === index;
  return first ? box : { ...box, label: " " };
}

customElements.define("board-guides", BoardGuides);
