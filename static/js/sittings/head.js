import { counted } from "#lib/counting.js";
import { decisionLine, initialsLine, noteRow } from "#sittings/rows.js";

/**
 * What a page says of its sitting: who is there, who leads, what was decided.
 *
 * @typedef {Record<string, any>} Told
 * @typedef {{ state: Told, turn: Told, follows: boolean, tip: boolean, item: string }} Now
 */

const SAYS = {
  up: "",
  down: "The line is down; it is tried again. Nothing is lost.",
  polling:
    "No live line gets through here (a proxy may stop it). This page asks every 3 seconds instead.",
};

export class Head {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
  }

  /** @param {string} selector @returns {HTMLElement} */
  #one(selector) {
    return /** @type {HTMLElement} */ (this.root.querySelector(selector));
  }

  /** @param {"up" | "down" | "polling"} how */
  line(how) {
    this.#one("[data-line-says]").textContent = SAYS[how];
    this.root.dataset.line = how;
  }

  /** @param {Now} now */
  draw({ state, turn, follows, tip }) {
    const { seats = [], chair, me } = state;
    this.#one("[data-seats]").replaceChildren(...initialsLine(seats, chair));
    for (const place of this.root.querySelectorAll("[data-place]"))
      place.classList.toggle(
        "is-on-table",
        place.getAttribute("data-place") === turn.item,
      );
    const mine = chair === me;
    this.#one("[data-follow-says]").textContent = follow(state, follows);
    this.#one("[data-apart]").hidden = mine || !follows;
    this.#one("[data-back]").hidden = mine || follows;
    this.root.querySelector("[data-tip]")?.setAttribute("aria-pressed", String(tip));
    for (const part of this.root.querySelectorAll("[data-table], .room-notes"))
      part.toggleAttribute("hidden", Boolean(turn.reading));
  }

  /** Which item this page shows. @param {string} item */
  shows(item) {
    for (const link of this.root.querySelectorAll("[data-show]"))
      if (link.getAttribute("data-show") === item)
        link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
  }

  /** A note was pinned on the item that is shown. @param {Told} note */
  pinned(note) {
    const list = this.root.querySelector("[data-notes]");
    if (!list || document.getElementById(`note-${note.key}`)) return;
    list.append(noteRow(note, `/rooms/${note.item}/`));
    this.root.querySelector("[data-no-notes]")?.setAttribute("hidden", "");
    document.dispatchEvent(new CustomEvent("board:swapped"));
  }

  /** A decision fell; gives what to say of it. @param {Told} event @param {boolean} here on the item shown */
  decided(event, here) {
    const place = this.#one(`[data-place="${event.item}"]`);
    const word = place?.querySelector("[data-decision]");
    if (word) word.textContent = event.word;
    const fell = [...this.root.querySelectorAll("[data-decision]")];
    this.#one("[data-counted]").textContent = counted(
      fell.map(({ textContent }) => textContent?.trim() ?? ""),
    );
    if (here) {
      const lines = this.root.querySelector("[data-decisions]");
      for (const line of lines?.children ?? []) line.setAttribute("data-overruled", "");
      lines?.append(decisionLine(event));
      this.root.querySelector("[data-no-decision]")?.setAttribute("hidden", "");
    }
    const label = place?.querySelector("[data-show]")?.textContent?.trim() ?? "";
    return `${label}: ${event.word}, ruled by ${event.ruled_by}.`;
  }

  /** Take everything away from somebody who may not look any more. */
  blank() {
    const all =
      "[data-part], [data-table], [data-reading], [data-seats], [data-follow]";
    for (const part of this.root.querySelectorAll(all)) part.replaceChildren();
  }
}

/** @param {Told} state @param {boolean} follows */
function follow(state, follows) {
  if (state.chair === state.me)
    return "You have the chair: what you look at is what everybody sees.";
  const seat = state.seats?.find((/** @type {Told} */ one) => one.key === state.chair);
  const who = seat?.initials ?? "the chair";
  return follows ? `You follow ${who}.` : `You look by yourself; ${who} leads on.`;
}
