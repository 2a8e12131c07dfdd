import { nudged, toPlace, toShown, WHOLE } from "#revisions/placing.js";

/**
 * @typedef {import("#revisions/placing.js").Point} Point
 * @typedef {import("#lib/sheet.js").Rect} Rect
 */

const SVG = "http://www.w3.org/2000/svg";
const MARK = "M22 2v15M22 27v15M2 22h15M27 22h15";

/** Marks on both pictures, tied to the number fields that are sent. */
class BoardLay extends HTMLElement {
  #over = new AbortController();

  connectedCallback() {
    this.#over = new AbortController();
    const { signal } = this.#over;
    this.classList.add("lay-on");
    for (const stage of this.#stages()) {
      stage.addEventListener("click", (event) => this.#press(stage, event), { signal });
    }
    this.addEventListener("input", () => this.#draw(), { signal });
    this.addEventListener("change", () => this.#draw(), { signal });
    this.#draw();
  }

  disconnectedCallback() {
    this.#over.abort();
  }

  #stages() {
    return /** @type {NodeListOf<HTMLElement>} */ (this.querySelectorAll(".lay-stage"));
  }

  #way() {
    const chosen = this.querySelector("input[name=how]:checked");
    return chosen instanceof HTMLInputElement ? chosen.value : "";
  }

  /** @param {string} side @param {number} number */
  #fields(side, number) {
    const field = (/** @type {string} */ axis) =>
      /** @type {HTMLInputElement | null} */ (
        this.querySelector(`[name="${side}-${number}-${axis}"]`)
      );
    return { x: field("x"), y: field("y") };
  }

  /** @param {string} side @param {number} number @returns {Point | null} */
  #place(side, number) {
    const { x, y } = this.#fields(side, number);
    if (!x?.value || !y?.value) return null;
    return { x: Number(x.value) / 100, y: Number(y.value) / 100 };
  }

  /** @param {string} side @param {number} number @param {Point} place */
  #write(side, number, place) {
    const { x, y } = this.#fields(side, number);
    if (x) x.value = (place.x * 100).toFixed(2);
    if (y) y.value = (place.y * 100).toFixed(2);
    this.#draw();
    const aloud = this.querySelector("[aria-live]");
    const where = side === "here" ? "your picture" : "the sheet";
    if (aloud)
      aloud.textContent = `Point ${number} on ${where}: ${x?.value} across, ${y?.value} down, per cent.`;
  }

  /** A press marks the next free point of that side. @param {HTMLElement} stage @param {MouseEvent} event */
  #press(stage, event) {
    if (event.target instanceof Element && event.target.closest(".lay-point")) return;
    if (!["corners", "pairs"].includes(this.#way())) this.#choose(stage);
    const side = stage.dataset.side ?? "here";
    const free = [1, 2, 3, 4].find((number) => !this.#place(side, number)) ?? 4;
    const box = stage.getBoundingClientRect();
    const at = {
      x: (event.clientX - box.left) / box.width,
      y: (event.clientY - box.top) / box.height,
    };
    this.#write(side, free, toPlace(at, rectOf(stage)));
    this.#mark(stage, free)?.focus();
  }

  /** Pressing on a picture means laying by hand. @param {HTMLElement} stage */
  #choose(stage) {
    const way = this.#stages().length === 2 || stage.dataset.side === "there";
    const value = way ? "pairs" : "corners";
    const radio = this.querySelector(`input[name=how][value=${value}]`);
    if (radio instanceof HTMLInputElement) radio.checked = true;
  }

  /** @param {HTMLElement} stage @param {number} number @returns {HTMLElement | null} */
  #mark(stage, number) {
    return stage.querySelector(`[data-number="${number}"]`);
  }

  #draw() {
    for (const stage of this.#stages()) {
      const side = stage.dataset.side ?? "here";
      for (const number of [1, 2, 3, 4]) {
        const place = this.#place(side, number);
        if (!place || (side === "there" && this.#way() === "corners")) {
          this.#mark(stage, number)?.remove();
          continue;
        }
        const mark = this.#mark(stage, number) ?? this.#drawn(stage, side, number);
        const shown = toShown(place, rectOf(stage));
        mark.style.insetInlineStart = `${shown.x * 100}%`;
        mark.style.insetBlockStart = `${shown.y * 100}%`;
      }
    }
  }

  /** @param {HTMLElement} stage @param {string} side @param {number} number */
  #drawn(stage, side, number) {
    const mark = document.createElement("button");
    mark.type = "button";
    mark.className = "lay-point";
    mark.dataset.number = String(number);
    const where = side === "here" ? "your picture" : "the sheet";
    mark.setAttribute("aria-label", `Point ${number} on ${where}; arrow keys move it`);
    const cross = document.createElementNS(SVG, "svg");
    cross.setAttribute("viewBox", "0 0 44 44");
    cross.setAttribute("class", "lay-mark");
    for (const name of ["lay-casing", "lay-line"]) {
      const line = document.createElementNS(SVG, "path");
      line.setAttribute("d", MARK);
      line.setAttribute("class", name);
      cross.append(line);
    }
    const letter = document.createElement("span");
    letter.className = "lay-letter";
    letter.textContent = String(number);
    mark.append(cross, letter);
    mark.addEventListener("keydown", (event) => {
      const place = this.#place(side, number);
      const moved =
        place && nudged(toShown(place, rectOf(stage)), event.key, event.shiftKey);
      if (!moved) return;
      event.preventDefault();
      this.#write(side, number, toPlace(moved, rectOf(stage)));
    });
    this.#drag(stage, mark, side, number);
    stage.append(mark);
    return mark;
  }

  /** @param {HTMLElement} stage @param {HTMLElement} mark @param {string} side @param {number} number */
  #drag(stage, mark, side, number) {
    mark.addEventListener("pointerdown", (event) =>
      mark.setPointerCapture(event.pointerId),
    );
    mark.addEventListener("pointermove", (event) => {
      if (!mark.hasPointerCapture(event.pointerId)) return;
      const box = stage.getBoundingClientRect();
      const at = {
        x: (event.clientX - box.left) / box.width,
        y: (event.clientY - box.top) / box.height,
      };
      this.#write(side, number, toPlace(at, rectOf(stage)));
    });
  }
}

/** @param {HTMLElement} stage @returns {Rect} */
function rectOf(stage) {
  const { x, y, width, height } = stage.dataset;
  if (width === undefined) return WHOLE;
  return { x: Number(x), y: Number(y), width: Number(width), height: Number(height) };
}

customElements.define("board-lay", BoardLay);
