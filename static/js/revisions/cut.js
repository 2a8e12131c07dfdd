import { goesRound, goingRound, inOrder, withOne, without } from "#lib/frames.js";
import { drawMarks, drawOutlines, putOn } from "#revisions/frame_marks.js";
import { framesIn, isWhole, rowsOf, writeFrames } from "#revisions/frame_rows.js";
import { nudged } from "#revisions/placing.js";

/**
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/frames.js").Frame} Frame
 */

const NAMES = ["top left", "top right", "bottom right", "bottom left"];

/** The frames over the sheet; the fields that are sent hold them, always. */
class BoardCut extends HTMLElement {
  #over = new AbortController();
  #chosen = 0;
  /** @type {Point[] | null} */
  #taps = null;
  /** @type {HTMLElement[]} */
  #handles = [];

  connectedCallback() {
    this.#over = new AbortController();
    const { signal } = this.#over;
    const stage = this.#stage();
    if (!stage) return;
    this.classList.add("cut-on");
    const how = this.querySelector(".cut-how");
    if (how)
      how.textContent =
        "Press a frame to take it in hand. Drag a corner, or step to it with Tab and move it by the arrow keys (with Shift in larger steps).";
    this.#tools();
    stage.addEventListener("click", (event) => this.#press(event), { signal });
    // A half-typed frame keeps its outline until its numbers are whole again.
    this.addEventListener("input", (event) => isWhole(event.target) && this.#draw(), {
      signal,
    });
    this.addEventListener("focusin", (event) => this.#follow(event), { signal });
    this.#draw();
  }

  disconnectedCallback() {
    this.#over.abort();
  }

  #stage() {
    return /** @type {HTMLElement | null} */ (this.querySelector(".cut-stage"));
  }

  #frames() {
    return framesIn(this);
  }

  /** @param {Frame[]} frames */
  #write(frames) {
    if (!writeFrames(this, frames)) this.#call("A sheet holds no more frames.");
    this.#draw();
  }

  /** @param {string} says */
  #call(says) {
    const aloud = this.querySelector("[aria-live]");
    if (aloud) aloud.textContent = says;
  }

  #tools() {
    const tools = document.createElement("div");
    tools.className = "row cut-tools";
    const tool = (/** @type {string} */ word, /** @type {() => void} */ act) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "plain-button";
      button.textContent = word;
      button.addEventListener("click", act);
      tools.append(button);
    };
    tool("Earlier", () => this.#move(-1));
    tool("Later", () => this.#move(1));
    tool("Take away", () => {
      const number = this.#chosen + 1;
      this.#write(without(this.#frames(), this.#chosen));
      this.#choose(Math.min(this.#chosen, this.#frames().length - 1));
      this.#call(`Frame ${number} is taken away; those after it move up.`);
    });
    tool("Add a frame", () => {
      this.#taps = [];
      this.#call("Press the four corners of the new frame, in any order.");
      this.#draw();
    });
    const word = document.createElement("span");
    word.className = "cut-chosen";
    tools.prepend(word);
    this.querySelector(".cut-table")?.prepend(tools);
  }

  /** @param {number} by */
  #move(by) {
    const to = this.#chosen + by;
    const frames = this.#frames();
    if (to < 0 || to >= frames.length) return;
    this.#write(inOrder(frames, this.#chosen, to));
    this.#choose(to);
    this.#call(`It is frame ${to + 1} now.`);
  }

  /** @param {number} at */
  #choose(at) {
    this.#chosen = Math.max(0, at);
    this.#draw();
  }

  /** A field's frame is the one in hand. @param {FocusEvent} event */
  #follow(event) {
    const row =
      event.target instanceof Element ? event.target.closest(".cut-row") : null;
    const at = row instanceof HTMLElement ? rowsOf(this).indexOf(row) : -1;
    if (at >= 0 && at < this.#frames().length && at !== this.#chosen) this.#choose(at);
  }

  /** @param {MouseEvent} event @returns {Point} */
  #at(event) {
    const box = this.#stage()?.getBoundingClientRect() ?? new DOMRect(0, 0, 1, 1);
    const within = (/** @type {number} */ v) => Math.min(1, Math.max(0, v));
    return {
      x: within((event.clientX - box.left) / box.width),
      y: within((event.clientY - box.top) / box.height),
    };
  }

  /** A press adds a corner of the new frame, or takes a frame in hand. @param {MouseEvent} event */
  #press(event) {
    const target = event.target instanceof Element ? event.target : null;
    if (this.#taps) {
      this.#taps.push(this.#at(event));
      if (this.#taps.length === 4) this.#finish(goingRound(this.#taps));
      else this.#call(`${4 - this.#taps.length} more.`);
      return this.#draw();
    }
    const outline = target?.closest("[data-frame]");
    if (outline) this.#choose(Number(outline.getAttribute("data-frame")));
  }

  /** @param {Point[]} corners */
  #finish(corners) {
    this.#taps = null;
    if (!goesRound(corners))
      return this.#call("Those four make no frame. Add it again.");
    const select = this.querySelector(".cut-row select");
    const options = select instanceof HTMLSelectElement ? [...select.options] : [];
    const frames = this.#frames();
    this.#write(
      withOne(
        frames,
        corners,
        options.map((option) => option.value),
      ),
    );
    this.#choose(frames.length);
    this.#call(
      `Frame ${frames.length + 1} is added. Move it earlier if it comes before.`,
    );
  }

  #draw() {
    const frames = this.#frames();
    const lines = this.querySelector(".cut-lines");
    if (lines) drawOutlines(lines, frames, this.#chosen);
    this.#marks(frames);
    for (const [at, row] of rowsOf(this).entries()) {
      row.hidden = at >= frames.length;
      row.classList.toggle("cut-row-in-hand", at === this.#chosen);
    }
    const word = this.querySelector(".cut-chosen");
    const left = this.#taps ? 4 - this.#taps.length : 0;
    if (word)
      word.textContent = left
        ? `Press ${left} corner${left > 1 ? "s" : ""} of the new frame`
        : `Frame ${this.#chosen + 1} of ${frames.length}`;
  }

  /** Numbers, taps and the four handles of the frame in hand. @param {Frame[]} frames */
  #marks(frames) {
    const stage = this.#stage();
    if (!stage) return;
    drawMarks(stage, frames, this.#taps ?? []);
    const corners = frames[this.#chosen]?.corners;
    for (const [at, name] of NAMES.entries()) {
      const handle = this.#handles[at] ?? this.#handle(at);
      handle.hidden = !corners || this.#taps !== null;
      const whose = `Frame ${this.#chosen + 1}, ${name}`;
      handle.setAttribute("aria-label", `${whose}; arrow keys move it`);
      if (corners) putOn(stage, handle, corners[at]);
    }
  }

  /** @param {number} at @returns {HTMLElement} */
  #handle(at) {
    const handle = document.createElement("button");
    handle.type = "button";
    handle.className = "cut-handle";
    this.#handles[at] = handle;
    handle.addEventListener("keydown", (event) => {
      const corner = this.#frames()[this.#chosen]?.corners[at];
      const moved = corner && nudged(corner, event.key, event.shiftKey);
      if (!moved) return;
      event.preventDefault();
      this.#shift(at, moved);
    });
    handle.addEventListener("pointerdown", (event) =>
      handle.setPointerCapture(event.pointerId),
    );
    handle.addEventListener("pointermove", (event) => {
      if (handle.hasPointerCapture(event.pointerId)) this.#shift(at, this.#at(event));
    });
    return handle;
  }

  /** @param {number} at @param {Point} to */
  #shift(at, to) {
    const frames = this.#frames();
    frames[this.#chosen].corners[at] = to;
    this.#write(frames);
    this.#call(
      `${NAMES[at]}: ${(to.x * 100).toFixed(1)} across, ${(to.y * 100).toFixed(1)} down, per cent.`,
    );
  }
}

customElements.define("board-cut", BoardCut);
