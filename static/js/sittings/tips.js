import { drawnAt, heard, maySend } from "#lib/tips.js";
import { drawn, Overlay } from "#viewing/overlay.js";

/**
 * Pencil tips on the sheet: one's own, sent at most ten times a second, and the others',
 * drawn evenly between messages.
 *
 * @typedef {{ hue: number, initials: string }} Pencil
 */

export class Tips {
  /** @type {Map<string, import("#lib/tips.js").Sample[]>} */
  #heard = new Map();
  /** @type {Map<string, Pencil>} */
  #pencils = new Map();
  #sent = 0;
  #frame = 0;
  /** @type {Overlay | null} */
  #overlay = null;
  on = false;

  /** @param {(x: number, y: number) => void} send */
  constructor(send) {
    this.send = send;
  }

  /** @param {import("#viewing/stand.js").Stand} stand @param {AbortSignal} signal */
  lieOn(stand, signal) {
    this.#heard.clear();
    this.#overlay = new Overlay(stand, "tips", (overlay) => this.#draw(overlay));
    stand.canvas.addEventListener(
      "pointermove",
      (event) => {
        const now = performance.now();
        if (!this.on || !maySend(now, this.#sent)) return;
        this.#sent = now;
        const box = stand.canvas.getBoundingClientRect();
        const at = { x: event.clientX - box.left, y: event.clientY - box.top };
        const { x, y } = stand.toSheet(at);
        this.send(x, y);
      },
      { signal },
    );
  }

  /** @param {{ key: string, hue: number, initials: string }[]} seats */
  know(seats) {
    this.#pencils = new Map(seats.map((seat) => [seat.key, seat]));
  }

  /** @param {string} by @param {number} x @param {number} y */
  hear(by, x, y) {
    const at = performance.now();
    this.#heard.set(by, heard(this.#heard.get(by) ?? [], { at, x, y }));
    if (!this.#frame) this.#frame = requestAnimationFrame(() => this.#again());
  }

  #again() {
    this.#frame = 0;
    if (!this.#overlay) return;
    this.#draw(this.#overlay);
    const now = performance.now();
    for (const [by, samples] of this.#heard)
      if (!drawnAt(samples, now)) this.#heard.delete(by);
    if (this.#heard.size > 0) this.#frame = requestAnimationFrame(() => this.#again());
  }

  /** @param {Overlay} overlay */
  #draw(overlay) {
    const now = performance.now();
    const tips = [...this.#heard].flatMap(([by, samples]) => {
      const at = drawnAt(samples, now);
      if (!at) return [];
      const { x, y } = overlay.stand.toScreen(at);
      const pencil = this.#pencils.get(by);
      // The sharpened end of a pencil: its point lies on the place.
      const wood = `M${x} ${y}l5 -13l9 9z`;
      const body = `M${x + 5} ${y - 13}l15 -15l9 9l-15 15z`;
      const group = drawn("g", {
        class: `tip pencil-${pencil?.hue ?? 0}`,
        "data-by": by,
        "data-x": at.x.toFixed(3),
        "data-y": at.y.toFixed(3),
      });
      group.append(
        drawn("path", { class: "tip-body", d: body }),
        drawn("path", { class: "tip-wood", d: wood }),
        drawn("path", { class: "tip-lead", d: `M${x} ${y}l1.7 -4.4l3 3z` }),
        drawn(
          "text",
          { class: "tip-initials", x: x + 24, y: y - 30 },
          pencil?.initials ?? "",
        ),
      );
      return [group];
    });
    overlay.svg.replaceChildren(...tips);
  }
}
