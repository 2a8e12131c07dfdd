import { placeLabels } from "#lib/labels.js";
import { boundsOf, outline, readPoints } from "#lib/marks.js";
import { dashes, isDouble } from "#lib/pencils.js";
import { cornersOf } from "#lib/reshaping.js";
import { drawn, Overlay } from "#viewing/overlay.js";
import { whenStanding } from "#viewing/picture.js";

/**
 * @typedef {import("#lib/marks.js").Mark} Mark
 * @typedef {import("#lib/tracing.js").Tracing} Tracing
 * @typedef {{ key: string, mark: Mark, points: import("#lib/sheet.js").Point[],
 *   label: string, hue: string, line: string, ended: boolean }} Pencilled
 */

const STROKE = 1.8;
const LETTER = 8.2;
const LABEL_HEIGHT = 17;

/**
 * `<board-tissue>`: the notes of the page's note sheet, pencilled over the art.
 *
 * It reads the rows (`data-mark`, `data-points`, `data-line` ...) and draws nothing of
 * its own. Fires `board:picked` when a pencilled label is pressed.
 */
export class BoardTissue extends HTMLElement {
  #ended = new AbortController();
  /** @type {Overlay | null} */
  #overlay = null;
  /** @type {Tracing | null} a mark that is being made */
  tracing = null;
  picked = "";

  connectedCallback() {
    const { signal } = this.#ended;
    whenStanding(signal, (stand) => {
      this.#overlay = new Overlay(stand, "tissue", (overlay) => this.#draw(overlay));
      this.#overlay.svg.addEventListener("click", (event) => this.#press(event), {
        signal,
      });
    });
    document.addEventListener("board:swapped", () => this.redraw(), { signal });
    document.addEventListener("toggle", () => this.redraw(), { signal, capture: true });
  }

  disconnectedCallback() {
    this.#ended.abort();
    this.#overlay?.svg.remove();
  }

  redraw() {
    this.#overlay?.redraw();
  }

  /** Lift the tissue off the art, or lay it down again. @returns {boolean} whether it lies */
  lift() {
    const lies = this.classList.toggle("is-lifted") === false;
    this.#overlay?.svg.classList.toggle("is-lifted", !lies);
    return lies;
  }

  /** The notes as their rows tell them. @returns {Pencilled[]} */
  notes() {
    const rows = [...document.querySelectorAll("[data-mark][data-points]")];
    const shown = rows.filter((row) => !row.closest("details:not([open]), [hidden]"));
    return shown.map((row) => {
      const { dataset } = /** @type {HTMLElement} */ (row);
      return {
        key: dataset.key ?? "",
        mark: /** @type {Mark} */ (dataset.mark),
        points: readPoints(dataset.points ?? ""),
        label: dataset.label ?? "",
        hue: dataset.hue ?? "0",
        line: dataset.line ?? "plain",
        ended: dataset.ended === "yes",
      };
    });
  }

  /** @param {Event} event */
  #press(event) {
    const target = /** @type {Element} */ (event.target);
    const key = target.closest("[data-key]")?.getAttribute("data-key");
    if (!key) return;
    this.dispatchEvent(new CustomEvent("board:picked", { bubbles: true, detail: key }));
  }

  /** @param {Overlay} overlay */
  #draw(overlay) {
    const marked = this.notes()
      .filter((note) => note.points.length > 0)
      .map((note) => {
        const at = note.points.map((point) => overlay.stand.toScreen(point));
        return { note, at, box: boundsOf(at) };
      });
    const labels = placeLabels(
      marked.map(({ note, at, box }) => ({
        key: note.key,
        box,
        outline: note.mark === "loop" ? middles(at) : undefined,
        width: note.label.length * LETTER + 6,
        height: LABEL_HEIGHT,
      })),
      overlay.view,
    );
    const placed = new Map(labels.map((label) => [label.key, label]));
    const groups = marked.map(({ note, at }) => this.#note(note, at, placed));
    if (this.tracing) groups.push(this.#tracing(overlay, this.tracing));
    overlay.svg.replaceChildren(...groups);
  }

  /**
   * @param {Pencilled} note
   * @param {import("#lib/sheet.js").Point[]} at
   * @param {Map<string, import("#lib/labels.js").Placed>} placed
   */
  #note(note, at, placed) {
    const names = ["pencil", `pencil-${note.hue}`];
    if (note.ended) names.push("is-ended");
    if (note.key === this.picked) names.push("is-picked");
    const group = drawn("g", { class: names.join(" "), "data-key": note.key });
    const line = note.mark === "point" ? "plain" : note.line;
    group.append(...strokes(outline(note.mark, at, 4), line));
    const label = placed.get(note.key);
    if (!label) return group;
    const { from, to, rect } = label;
    const leader = drawn("path", {
      class: "leader",
      d: `M${from.x} ${from.y}L${to.x} ${to.y}`,
      "stroke-dasharray": dashes(note.line, STROKE),
    });
    group.append(
      leader,
      drawn("rect", { class: "label-ground", ...rect }),
      drawn(
        "text",
        { class: "label", x: rect.x + 3, y: rect.y + LABEL_HEIGHT - 4 },
        note.label,
      ),
    );
    return group;
  }

  /** @param {Overlay} overlay @param {Tracing} tracing */
  #tracing(overlay, { mark, points, tip, held }) {
    const at = points.map((point) => overlay.stand.toScreen(point));
    const group = drawn("g", { class: "pencil is-being-made" });
    group.append(...strokes(outline(mark, at, 4), "plain"));
    for (const [index, corner] of cornersOf(mark, mark === "point" ? [] : at).entries())
      group.append(
        drawn("path", {
          class: index === held?.corner ? "corner is-held" : "corner",
          d: `M${corner.x - 5} ${corner.y}h10M${corner.x} ${corner.y - 5}v10`,
        }),
      );
    const { x, y } = overlay.stand.toScreen(tip);
    const arms = `M${x - 16} ${y}h11M${x + 5} ${y}h11M${x} ${y - 16}v11M${x} ${y + 5}v11`;
    group.append(
      drawn("path", { class: "tip-casing", d: arms }),
      drawn("path", { class: "tip", d: arms }),
    );
    return group;
  }
}

/** Where a loop's round stroke really runs. @param {import("#lib/sheet.js").Point[]} at */
function middles(at) {
  return at.map((a, index) => {
    const b = at[(index + 1) % at.length];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
  });
}

/** @param {string} d @param {string} line */
function strokes(d, line) {
  if (!d) return [];
  const casing = drawn("path", { class: "casing", d });
  const pattern = dashes(line, STROKE);
  const stroke = drawn("path", { class: "stroke", d });
  if (pattern) stroke.setAttribute("stroke-dasharray", pattern);
  if (!isDouble(line)) return [casing, stroke];
  stroke.setAttribute("class", "stroke stroke-double");
  return [casing, stroke, drawn("path", { class: "core", d })];
}

/** @returns {BoardTissue | null} */
export function tissueOfPage() {
  return document.querySelector("board-tissue");
}

customElements.define("board-tissue", BoardTissue);
