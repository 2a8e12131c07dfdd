import { momentWords } from "#lib/pocket.js";
import {
  actsOf,
  change,
  newEvent,
  onChange,
  remove,
  withFields,
} from "#outbox/outbox.js";

/**
 * `<board-waiting>`: what waits to be sent, and what came back, to be read, changed,
 * sent again or taken out. With `data-item` only what belongs to that item.
 *
 * The row's markup lies in the page, in `template[data-waiting-row]`.
 *
 * @typedef {import("#outbox/outbox.js").Act} Act
 */
class BoardWaiting extends HTMLElement {
  #ended = new AbortController();

  connectedCallback() {
    const { signal } = this.#ended;
    onChange(() => this.#draw(), signal);
    this.addEventListener("click", (event) => this.#clicked(event), { signal });
    this.addEventListener("submit", (event) => this.#changed(event), { signal });
    this.#draw();
  }

  disconnectedCallback() {
    this.#ended.abort();
  }

  async #acts() {
    const { person = "", item } = this.dataset;
    const all = await actsOf(person).catch(() => []);
    return item ? all.filter((act) => act.item === item) : all;
  }

  async #draw() {
    const list = this.querySelector("[data-waiting-list]");
    if (!list || list.contains(document.activeElement?.closest("form") ?? null)) return;
    const acts = await this.#acts();
    list.replaceChildren(...acts.map((act) => this.#row(act)));
    const none = this.querySelector("[data-waiting-none]");
    if (none instanceof HTMLElement) none.hidden = acts.length > 0;
    if (this.dataset.item) this.hidden = acts.length === 0;
  }

  /** @param {Act} act */
  #row(act) {
    const template = this.querySelector("template[data-waiting-row]");
    if (!(template instanceof HTMLTemplateElement)) throw new Error("no row");
    const row = /** @type {HTMLElement} */ (
      template.content.cloneNode(true)
    ).querySelector("li");
    if (!row) throw new Error("no row");
    row.dataset.id = String(act.id);
    row.dataset.state = act.state;
    const words = wordsOf(act);
    fill(row, "called", act.called);
    fill(row, "written", `written ${momentWords(act.at, new Date())}`);
    fill(row, "words", words);
    fill(row, "state", STATES[act.state]);
    const why = row.querySelector("[data-put=reasons]");
    why?.replaceChildren(...act.reasons.map(inList));
    for (const button of row.querySelectorAll("[data-for]"))
      if (button instanceof HTMLElement)
        button.hidden = !button.dataset.for?.split(" ").includes(act.state);
    const form = row.querySelector("form");
    if (form) form.hidden = words === null || act.state === "tried";
    const area = row.querySelector("textarea");
    if (area && words !== null) area.value = words;
    return row;
  }

  /** @param {Event} event */
  async #clicked(event) {
    const button = /** @type {Element} */ (event.target).closest("[data-do]");
    const id = Number(button?.closest("li")?.dataset.id);
    if (button?.getAttribute("data-do") === "take-out") await remove(id);
    if (button?.getAttribute("data-do") === "again") await this.#again(id, {});
  }

  /** @param {Event} event */
  async #changed(event) {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    const words = String(new FormData(form).get("words") ?? "");
    const id = Number(form.closest("li")?.dataset.id);
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
    if (!(await this.#again(id, { words })))
      form.prepend("It was being sent already; look at it in its room.");
  }

  /** A changed act is another act, so it goes under another id. @param {number} id @param {Record<string, string>} to */
  async #again(id, to) {
    const [act] = (await this.#acts()).filter((one) => one.id === id);
    if (!act) return false;
    const fields = withFields(act.fields, { ...to, event: newEvent() });
    const now = { fields, state: /** @type {const} */ ("waits"), reasons: [] };
    const done = await change(id, ["waits", "back"], now);
    if (done) document.dispatchEvent(new CustomEvent("board:hasten"));
    return done;
  }
}

const STATES = {
  waits: "waits for the line",
  tried:
    "was sent, and no answer came. It is sent again under the same number, so it counts once; until then its words stay as they are.",
  back: "came back: the board did not take it",
};

/** The words that may still be changed; none in an initial. @param {Act} act */
function wordsOf(act) {
  const words = act.fields.find(([name]) => name === "words")?.[1];
  return typeof words === "string" ? words : null;
}

/** @param {Element} row @param {string} name @param {string | null} words */
function fill(row, name, words) {
  const place = row.querySelector(`[data-put=${name}]`);
  if (place) place.textContent = words ?? "";
}

/** @param {string} words */
function inList(words) {
  const line = document.createElement("li");
  line.textContent = words;
  return line;
}

customElements.define("board-waiting", BoardWaiting);
