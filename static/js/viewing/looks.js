import { foldOf, pixelsOf, shared, squintPixels } from "#lib/setting.js";
import { drawn, Overlay } from "#viewing/overlay.js";
import { whenStanding } from "#viewing/picture.js";

/**
 * @typedef {import("#viewing/stand.js").Stand} Stand
 * @typedef {{ words: string, face: string, sizePt: number, leadingPt: number }} Type
 */

const CLASS = { squint: "is-squint", grey: "is-grey" };
const NO_BOX =
  "No type box is laid on this item yet, so the words have no place. Lay one under Boxes.";
const NO_WORDS = "No words stand on this item.";

/**
 * `<board-looks>`: other ways to look at the same picture: squint and grey by filter, the
 * fold's shade, and the words in their type boxes. Its buttons name a look in `data-see`.
 */
class BoardLooks extends HTMLElement {
  #ended = new AbortController();
  /** @type {Stand | null} */
  #stand = null;
  /** @type {{ element: HTMLElement, rect: import("#lib/sheet.js").Rect }[]} */
  #set = [];

  connectedCallback() {
    const { signal } = this.#ended;
    whenStanding(signal, (stand, picture) => {
      this.#stand = stand;
      const type = picture.told?.type;
      const boxes = (picture.told?.boxes ?? []).filter((box) => box.sort === "type");
      this.#overlay = new Overlay(stand, "folds", (overlay) => this.#fold(overlay));
      if (type) this.#layWords(stand, type, boxes);
      stand.onView(() => this.#follow());
      this.addEventListener("click", (event) => this.#clicked(event), { signal });
      this.addEventListener("board:see", (event) => {
        this.#toggle(/** @type {CustomEvent<string>} */ (event).detail);
      });
    });
  }

  disconnectedCallback() {
    this.#ended.abort();
  }

  /** @type {Overlay | null} */
  #overlay = null;

  /** @param {Event} event */
  #clicked(event) {
    const button = /** @type {Element} */ (event.target).closest("[data-see]");
    if (button) this.#toggle(button.getAttribute("data-see") ?? "");
  }

  /** @param {string} look */
  #toggle(look) {
    const button = this.querySelector(`[data-see="${look}"]`);
    if (!button || !this.#stand) return;
    if (look === "words" && !this.#mayRead()) return;
    const on = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(on));
    const { element } = this.#stand.viewer;
    if (look in CLASS)
      element.classList.toggle(CLASS[/** @type {keyof typeof CLASS} */ (look)], on);
    this.#follow();
    this.#overlay?.redraw();
  }

  #mayRead() {
    const says = this.#set.length === 0 ? NO_BOX : "";
    const empty = this.#set.every(({ element }) => !element.textContent);
    const why = says || (empty ? NO_WORDS : "");
    if (why)
      this.dispatchEvent(new CustomEvent("board:says", { bubbles: true, detail: why }));
    return !why;
  }

  /** @param {string} look */
  #sees(look) {
    return Boolean(this.querySelector(`[data-see="${look}"][aria-pressed="true"]`));
  }

  /**
   * @param {Stand} stand
   * @param {Type} type
   * @param {import("#lib/sheet.js").Rect[]} boxes
   */
  #layWords(stand, type, boxes) {
    const parts = shared(type.words, boxes.length);
    this.#set = boxes.map((rect, index) => {
      const element = document.createElement("div");
      element.className = "set-words";
      element.dir = "auto";
      element.setAttribute("aria-hidden", "true");
      element.textContent = parts[index];
      if (type.face) element.style.fontFamily = `"${type.face}", var(--face-display)`;
      element.style.lineHeight = String(type.leadingPt / type.sizePt);
      element.dataset.points = String(type.sizePt);
      stand.viewer.canvas.after(element);
      return { element, rect };
    });
  }

  #follow() {
    const stand = this.#stand;
    if (!stand || !this.#overlay) return;
    if (this.#sees("squint"))
      stand.viewer.element.style.setProperty(
        "--squint",
        `${squintPixels(stand.pixelsPerMm, stand.format).toFixed(1)}px`,
      );
    const shown = this.#sees("words");
    for (const { element, rect } of this.#set) {
      element.hidden = !shown;
      if (!shown) continue;
      const { x, y, width, height } = this.#overlay.rect(rect);
      const size = pixelsOf(Number(element.dataset.points), stand.pixelsPerMm);
      Object.assign(element.style, {
        left: `${x}px`,
        top: `${y}px`,
        width: `${width}px`,
        height: `${height}px`,
        fontSize: `${size}px`,
      });
      this.#tellOver(element, stand.pixelsPerMm);
    }
  }

  /** Say by how much the words run over their box. @param {HTMLElement} element @param {number} pixelsPerMm */
  #tellOver(element, pixelsPerMm) {
    const over = (element.scrollHeight - element.clientHeight) / pixelsPerMm;
    element.classList.toggle("runs-over", over > 0.5);
    const says = this.querySelector("[data-runs-over]");
    if (says && element === this.#set[0]?.element)
      says.textContent =
        over > 0.5 ? `The words run ${Math.ceil(over)} mm over their box.` : "";
  }

  /** @param {Overlay} overlay */
  #fold(overlay) {
    const fold = this.#sees("fold") ? foldOf(overlay.stand.format) : null;
    if (!fold) return overlay.svg.replaceChildren();
    const shade = drawn("linearGradient", { id: "fold-shade" });
    for (const { at, dark } of fold.stops)
      shade.append(
        drawn("stop", { class: "fold-stop", offset: at, "stop-opacity": dark }),
      );
    const rect = overlay.rect(fold.rect);
    overlay.svg.replaceChildren(shade, drawn("rect", { class: "fold-band", ...rect }));
  }
}

customElements.define("board-looks", BoardLooks);
