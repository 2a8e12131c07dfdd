import "#tissue/marking.js";
import "#tissue/sieve.js";
import "#viewing/guides.js";
import "#viewing/looks.js";
import "#viewing/true_size.js";
import { inView, meets } from "#lib/in_view.js";
import { boundsOf } from "#lib/marks.js";
import { stepFrom } from "#lib/stepping.js";
import { tissueOfPage } from "#tissue/tissue.js";
import { enliven } from "#viewing/forms.js";
import { freshenCrops } from "#viewing/fresh_crops.js";
import { lookingKeys, onKeys, onWords } from "#viewing/keys.js";
import { listen } from "#viewing/live.js";
import { noticeIn } from "#viewing/notice.js";
import { refresh } from "#viewing/parts.js";
import { pictureOfPage, whenStanding } from "#viewing/picture.js";

const GATHER_MS = 150;
const PHONE = "(width < 40rem)";
const NEWER =
  "A newer revision is up. Load the page again, or choose it below, to look at it.";
const ENDED =
  "Your credit on this book has ended, so the picture was taken away. Ask the editor if that is a mistake.";
const OUT =
  "You are signed out, so the picture was taken away. What you were writing stands; sign in to send it.";

/** `<board-room>`: one item's room: the picture, the note sheet and the slip together. */
class BoardRoom extends HTMLElement {
  #ended = new AbortController();
  #timer = 0;
  /** @type {(words: string, wrong?: boolean) => void} */
  #say = () => {};

  connectedCallback() {
    const { signal } = this.#ended;
    this.#say = noticeIn(this);
    enliven(this, this.#say);
    onWords(this, this.#stand, signal);
    onKeys(this, "[data-keys]", this.#keys(), signal, (event) => {
      return this.#onPicture(event) && Boolean(this.#stand()?.hand?.key(event));
    });
    this.addEventListener("click", (event) => this.#clicked(event), { signal });
    this.addEventListener("board:picked", (event) => {
      this.#pick(/** @type {CustomEvent<string>} */ (event).detail);
    });
    this.addEventListener("board:says", (event) => {
      this.#say(/** @type {CustomEvent<string>} */ (event).detail, true);
    });
    if (matchMedia(PHONE).matches)
      this.querySelector("[data-more-words]")?.removeAttribute("open");
    freshenCrops(this, () => this.#refreshSoon(), signal);
    whenStanding(signal, () => this.#pickFromAddress());
    this.#listen(signal);
  }

  disconnectedCallback() {
    this.#ended.abort();
    clearTimeout(this.#timer);
  }

  #stand = () => pictureOfPage()?.stand ?? null;

  /** @param {Event} event */
  #onPicture(event) {
    return Boolean(/** @type {Element} */ (event.target).closest("board-picture"));
  }

  #keys() {
    return {
      ...lookingKeys(this.#stand),
      n: () => this.#step(1),
      b: () => this.#step(-1),
      t: () => this.#liftTissue(),
      g: () => this.#tell("board-guides", new Event("board:all-guides")),
      m: () => this.#openNewNote(),
      r: () => this.#tell("board-true-size", new Event("board:true-size")),
      s: () => this.#see("squint"),
      y: () => this.#see("grey"),
      f: () => this.#see("fold"),
      x: () => this.#see("words"),
      h: () => this.#say(this.#inView()),
    };
  }

  /** @param {string} look */
  #see(look) {
    this.#tell("board-looks", new CustomEvent("board:see", { detail: look }));
  }

  /** @param {string} element @param {Event} event */
  #tell(element, event) {
    this.querySelector(element)?.dispatchEvent(event);
  }

  /** What part of the sheet is in view, and which notes, in words. */
  #inView() {
    const stand = this.#stand();
    if (!stand) return "The picture is not open yet.";
    const seen = stand.seen();
    const marked = tissueOfPage()?.notes() ?? [];
    const notes = marked.filter(
      ({ points }) => points.length > 0 && meets(boundsOf(points), seen),
    );
    return inView(
      seen,
      stand.format,
      notes.map(({ label }) => label),
    );
  }

  /** @param {Event} event */
  #clicked(event) {
    const target = /** @type {Element} */ (event.target);
    if (target.closest("[data-lift-tissue]")) this.#liftTissue();
    if (target.closest("[data-step]"))
      this.#step(Number(target.closest("[data-step]")?.getAttribute("data-step")));
    if (target.closest("[data-put-away]"))
      target.closest("[data-notice]")?.classList.remove("is-up");
    const pick = target.closest("[data-pick]");
    if (pick) {
      event.preventDefault();
      this.#pick(pick.getAttribute("data-pick") ?? "");
    }
  }

  #liftTissue() {
    const lies = tissueOfPage()?.lift() ?? true;
    for (const button of this.querySelectorAll("[data-lift-tissue]"))
      button.setAttribute("aria-pressed", String(!lies));
  }

  #openNewNote() {
    const fold = this.querySelector("[data-new-note]");
    if (!(fold instanceof HTMLDetailsElement)) return;
    fold.open = true;
    fold.querySelector("board-marking")?.dispatchEvent(new Event("board:draw"));
  }

  /** @param {number} step */
  #step(step) {
    const rows = [...this.querySelectorAll("[data-mark][data-key]:not([hidden])")];
    const keys = rows.map((row) => row.getAttribute("data-key") ?? "");
    const key = stepFrom(keys, tissueOfPage()?.picked ?? "", step);
    if (key) this.#pick(key);
  }

  /** Show a note: its mark in the view, its words below the art. @param {string} key */
  #pick(key) {
    const tissue = tissueOfPage();
    const row = document.getElementById(`note-${key}`);
    if (!row) return;
    if (tissue) tissue.picked = key;
    for (const other of this.querySelectorAll(".note.is-picked"))
      other.classList.remove("is-picked");
    row.classList.add("is-picked");
    const note = tissue?.notes().find((one) => one.key === key);
    if (note && note.points.length > 0) this.#stand()?.show(boundsOf(note.points));
    tissue?.redraw();
    this.#tellInHand(row);
  }

  /** @param {HTMLElement} row */
  #tellInHand(row) {
    const strip = this.querySelector("[data-in-hand]");
    if (!(strip instanceof HTMLElement)) return;
    const words = row.querySelector("[data-words]")?.textContent?.trim() ?? "";
    const link = document.createElement("a");
    link.href = `#${row.id}`;
    link.textContent = "its line";
    const label = document.createElement("b");
    label.className = `pencil-${row.dataset.hue}`;
    label.textContent = row.dataset.label ?? "";
    const where = row.dataset.points ? "" : " (no place on the sheet)";
    strip.replaceChildren(label, ` ${row.dataset.sort}${where}: ${words} `, link);
  }

  #pickFromAddress() {
    const key = location.hash.replace("#note-", "");
    if (location.hash.startsWith("#note-")) this.#pick(key);
  }

  /** @param {AbortSignal} signal */
  #listen(signal) {
    const path = this.dataset.live;
    if (!path) return;
    const ears = {
      entered: (/** @type {string} */ item, /** @type {string} */ kind) => {
        if (item && item !== this.dataset.item) return;
        this.#refreshSoon();
        if (kind === "sent up") this.#say(NEWER);
      },
      ended: (/** @type {boolean} */ out) => {
        pictureOfPage()?.blank();
        for (const part of this.querySelectorAll("[data-part]")) part.replaceChildren();
        this.#say(out ? OUT : ENDED, true);
      },
      line: (/** @type {boolean} */ up) => this.toggleAttribute("data-line-down", !up),
    };
    listen(path, ears, signal);
  }

  #refreshSoon() {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => {
      // Without a line the next message, or the line coming back, asks again.
      refresh(this.dataset.parts ?? "").catch(() => undefined);
    }, GATHER_MS);
  }
}

customElements.define("board-room", BoardRoom);
