import { bledSheet, fromMm, toMm } from "#lib/sheet.js";
import * as tracing from "#lib/tracing.js";
import { MarkFields } from "#tissue/mark_fields.js";
import { KEYS, MENDS, MOVES } from "#tissue/mends.js";
import { tissueOfPage } from "#tissue/tissue.js";
import { whenStanding } from "#viewing/picture.js";

/**
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#viewing/stand.js").Stand} Stand
 * @typedef {import("#lib/tracing.js").Tracing} Tracing
 */

const SLACK_PX = 5;
const THIN_PX = 1.5;
const REACH_PX = 16;

/**
 * `<board-marking>`: the part of a note's form that says where, enlivened: dragging,
 * clicks alone, keys, or numbers, all four writing the same fields.
 */
class BoardMarking extends HTMLElement {
  #ended = new AbortController();
  /** @type {Stand | null} */
  #stand = null;
  /** @type {Tracing | null} */
  #tracing = null;

  connectedCallback() {
    // The form may be moved when its part is drawn anew: then it begins again.
    this.#ended = new AbortController();
    const { signal } = this.#ended;
    whenStanding(signal, (stand) => {
      this.#stand = stand;
      this.#fields = new MarkFields(this, stand.format);
      this.#begin();
      this.#listen(signal);
    });
  }

  disconnectedCallback() {
    this.#ended.abort();
    this.#putDown();
    this.#show(null);
  }

  /** @type {MarkFields | null} */
  #fields = null;

  /** @param {AbortSignal} signal */
  #listen(signal) {
    const draw = this.querySelector("[data-draw]");
    if (draw instanceof HTMLElement) {
      draw.hidden = false;
      draw.addEventListener("click", () => this.#takeUp(), { signal });
    }
    this.addEventListener("click", (event) => this.#mend(event), { signal });
    this.addEventListener("change", (event) => this.#changed(event), { signal });
    this.addEventListener("input", (event) => this.#typed(event), { signal });
    this.closest("form")?.addEventListener("reset", () => this.#afterReset(), {
      signal,
    });
    this.addEventListener("board:draw", () => this.#takeUp(), { signal });
  }

  #begin() {
    const fields = this.#fields;
    if (!fields || !this.#stand) return;
    const within = bledSheet(this.#stand.format);
    const points = fields.points;
    const tip = points[0] ?? this.#stand.middle();
    this.#take(tracing.begun(fields.mark, points, tip, within));
    if (!fields.mark) this.#show(null);
  }

  #afterReset() {
    this.#putDown();
    setTimeout(() => this.#begin());
  }

  /** @param {Event} event */
  #changed(event) {
    const field = /** @type {HTMLInputElement} */ (event.target);
    if (field.name === "unit") this.#fields?.showNumbers();
    if (field.name !== "mark" || !this.#tracing) return;
    const mark = /** @type {Tracing["mark"]} */ (field.value);
    const { tip, within } = this.#tracing;
    this.#take(tracing.begun(mark, [], tip, within));
    // Arrow keys go through the choices one by one: the keyboard stays with them.
    if (mark) this.#takeUp(!field.matches(":focus-visible"));
    else this.#putDown();
  }

  /** @param {Event} event */
  #typed(event) {
    const field = /** @type {HTMLInputElement} */ (event.target);
    const points = this.#fields?.typed(field);
    if (!points || !this.#tracing) return;
    const { mark, tip, within } = this.#tracing;
    this.#tracing = tracing.begun(mark, points, tip, within);
    this.#show(this.#tracing);
  }

  /** Take the pencil: pointer and keys on the picture now make the mark. @param {boolean} [go] to the picture */
  #takeUp(go = true) {
    const stand = this.#stand;
    if (!stand || !this.#tracing) return;
    if (!this.#tracing.mark) this.#choosePoint();
    stand.hand = {
      press: (at) => this.#step((now) => tracing.pressed(now, stand.toSheet(at))),
      drag: (at) => {
        const [slack, reach] = [this.#far(SLACK_PX), this.#far(REACH_PX)];
        this.#step((now) => tracing.dragged(now, stand.toSheet(at), slack, reach));
      },
      release: () => this.#step((now) => tracing.released(now, this.#far(THIN_PX))),
      click: (at) =>
        this.#step((now) => tracing.set(now, stand.toSheet(at), this.#far(REACH_PX))),
      key: (event) => this.#key(event),
    };
    stand.viewer.container.classList.add("is-marking");
    if (go) {
      stand.viewer.element.scrollIntoView({ block: "nearest" });
      stand.canvas.focus({ preventScroll: true });
    }
    this.#show(this.#tracing);
  }

  #choosePoint() {
    this.#fields?.choose("point");
    if (this.#tracing) this.#tracing = { ...this.#tracing, mark: "point" };
  }

  #putDown() {
    if (!this.#stand) return;
    this.#stand.hand = null;
    this.#stand.viewer.container?.classList.remove("is-marking");
  }

  /** @param {number} pixels @returns {Point} the same length on the sheet, both ways */
  #far(pixels) {
    const stand = /** @type {Stand} */ (this.#stand);
    const mm = pixels / stand.pixelsPerMm;
    return fromMm({ x: mm, y: mm }, stand.format);
  }

  /** One of the words that mend a mark. @param {Event} event */
  #mend(event) {
    const word = /** @type {Element} */ (event.target).closest("[data-mend]");
    const name = word?.getAttribute("data-mend") ?? "";
    if (name === "down") return this.#stop();
    if (!(name in MENDS)) return;
    this.#takeUp();
    this.#step(MENDS[name]);
  }

  /** Put the pencil down and go on with the words. */
  #stop() {
    this.#putDown();
    if (this.#tracing) this.#tracing = { ...this.#tracing, held: null };
    this.#show(this.#tracing);
    this.closest("form")?.querySelector("textarea")?.focus();
  }

  /** @param {(now: Tracing) => Tracing} how */
  #step(how) {
    if (this.#tracing) this.#take(how(this.#tracing));
  }

  /** @param {Tracing} now */
  #take(now) {
    this.#tracing = now;
    this.#fields?.write(now.mark, now.points);
    this.#show(now);
  }

  /** @param {Tracing | null} now */
  #show(now) {
    const tissue = tissueOfPage();
    const drawing = this.#stand?.hand !== null;
    if (tissue) {
      tissue.tracing = now?.mark && (drawing || now.points.length > 0) ? now : null;
      tissue.redraw();
    }
    const mends = this.querySelector("[data-mends]");
    if (mends instanceof HTMLElement) mends.hidden = !drawing;
    const says = this.querySelector("[data-says]");
    if (says && now && this.#stand) says.textContent = this.#words(now, drawing);
  }

  /** @param {Tracing} now @param {boolean} drawing */
  #words(now, drawing) {
    const stand = /** @type {Stand} */ (this.#stand);
    if (!now.mark) return "";
    const { x, y } = toMm(now.tip, stand.format);
    const tip = drawing
      ? ` Pencil tip at ${x.toFixed(0)} mm from the left, ${y.toFixed(0)} mm down.`
      : "";
    return `${tracing.stillToDo(now)}${tip}`;
  }

  /** @param {KeyboardEvent} event @returns {boolean} whether the key was for the pencil */
  #key(event) {
    const stand = this.#stand;
    if (!stand) return false;
    const mm = event.shiftKey ? 10 : event.altKey ? 0.2 : 2;
    const by = MOVES[event.key];
    if (by) {
      const step = fromMm({ x: by.x * mm, y: by.y * mm }, stand.format);
      this.#step((now) => tracing.nudged(now, step));
      this.#follow();
      return true;
    }
    if (event.key === "Enter" || event.key === " ") {
      this.#step((now) => tracing.set(now, now.tip, this.#far(REACH_PX)));
      return true;
    }
    if (event.key === "Escape") {
      this.#stop();
      return true;
    }
    const mend = event.ctrlKey || event.metaKey ? undefined : KEYS[event.key];
    if (!mend) return false;
    this.#step(MENDS[mend]);
    this.#follow();
    return true;
  }

  /** Keep the pencil tip in view. */
  #follow() {
    const stand = this.#stand;
    if (!stand || !this.#tracing) return;
    const { x, y } = stand.toScreen(this.#tracing.tip);
    const { clientWidth, clientHeight } = stand.viewer.container;
    const right = x < 24 ? -1 : x > clientWidth - 24 ? 1 : 0;
    const down = y < 24 ? -1 : y > clientHeight - 24 ? 1 : 0;
    if (right || down) stand.pan(right, down);
  }
}

customElements.define("board-marking", BoardMarking);
