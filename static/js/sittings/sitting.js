import "#tissue/marking.js";
import { Aloud } from "#sittings/aloud.js";
import { Head } from "#sittings/head.js";
import { Line } from "#sittings/line.js";
import { Table } from "#sittings/table.js";
import { Tips } from "#sittings/tips.js";
import { onWhatIsPressed } from "#sittings/words.js";
import { enliven } from "#viewing/forms.js";
import { noticeIn } from "#viewing/notice.js";
import { ask, parsed, refresh, swapAll } from "#viewing/parts.js";
import { told } from "#viewing/picture.js";

/** @typedef {Record<string, any>} Told */

const SPREAD_MS = 1500; // pages that ask for the same parts do not ask at once
const ENDED =
  "This sitting is not open to you any more: your credit on the book has ended.";

/** `<board-sitting>`: one table before everybody, led by the chair. */
export class BoardSitting extends HTMLElement {
  #ended = new AbortController();
  #onTable = new AbortController();
  #timer = 0;
  #clock = 0;
  /** @type {Told} */
  #state = {};
  /** @type {Told} */
  #turn = { number: -1 };
  /** @type {(words: string, wrong?: boolean) => void} */
  #say = () => {};
  follows = true;
  head = new Head(this);
  aloud = new Aloud(this);
  tips = new Tips((x, y) => this.line?.say({ type: "pointer", item: this.item, x, y }));
  /** @type {Line | null} */
  line = null;
  /** @type {Table | null} */
  table = null;

  connectedCallback() {
    const { signal } = this.#ended;
    this.#say = noticeIn(this);
    this.#state = told("state");
    this.#turn = this.#state.turn;
    const live = this.dataset.live ?? "";
    const poll = `${this.dataset.base}poll/`;
    this.line = new Line({ live, poll, token: this.token }, this.#ears(), signal);
    this.follows = !new URLSearchParams(location.search).has("item");
    this.line.follows = this.follows || this.isChair;
    this.tips.on = this.isChair;
    enliven(this, this.#say);
    onWhatIsPressed(this, signal);
    this.#clock = window.setInterval(() => this.aloud.tick(this.#state.began), 500);
    this.draw();
    this.#lay().then(() => this.line?.begin(this.#state));
  }

  disconnectedCallback() {
    this.#ended.abort();
    clearTimeout(this.#timer);
    clearInterval(this.#clock);
    this.table?.takeDown();
  }

  get token() {
    const field = document.querySelector('[name="csrfmiddlewaretoken"]');
    return /** @type {HTMLInputElement | null} */ (field)?.value ?? "";
  }

  get isChair() {
    return this.#state.chair === this.#state.me;
  }

  get item() {
    return this.dataset.item ?? "";
  }

  /** @returns {import("#sittings/line.js").Ears} */
  #ears() {
    return {
      state: (state) => this.#take(state),
      event: (event) => this.#hear(event),
      look: (look) => this.#turned(look),
      pointer: ({ by, item, x, y }) => {
        if (item === this.item) this.tips.hear(by, x, y);
      },
      seats: ({ seats }) => {
        this.#state.seats = seats;
        this.draw();
      },
      refused: ({ says }) => this.#say(says, true),
      line: (how) => this.head.line(how),
      ended: () => {
        this.table?.takeDown();
        this.head.blank();
        this.#say(ENDED, true);
      },
    };
  }

  /** @param {Told} state */
  #take(state) {
    const { chair } = this.#state;
    this.#state = { ...this.#state, ...state };
    if (state.standing !== "open") return location.reload();
    if (state.fresh || chair !== state.chair) this.#refreshSoon(0);
    this.#turned(state.turn);
    this.draw();
  }

  /** @param {Told} event one of this reader's, in order and once */
  #hear(event) {
    const here = event.item === this.item;
    if (event.kind === "sitting closed") location.reload();
    else if (event.kind === "chair handed over") this.#handed(event);
    else if (event.kind === "note raised" && event.note) {
      if (event.note.item === this.item) this.head.pinned(event.note);
    } else if (event.kind === "decided in a sitting") {
      this.#say(this.head.decided(event, here));
    } else if (event.kind === "sent up" || here)
      this.#refreshSoon(Math.random() * SPREAD_MS);
  }

  /** @param {Told} event */
  #handed(event) {
    this.#state.chair = event.to;
    this.tips.on = this.isChair;
    this.#say(`${event.by} handed over the chair.`);
    this.#refreshSoon(0);
    this.follow(true);
  }

  /** The chair turned to an item or looked elsewhere. @param {Told} turn */
  async #turned(turn) {
    if (turn.number < this.#turn.number) return;
    const before = this.#turn;
    this.#turn = turn;
    if (turn.reading !== before.reading) {
      if (this.isChair) return location.reload();
      this.#state.began = turn.reading ? Date.now() / 1000 : 0;
      await this.#fetchReading();
    }
    this.draw();
    if (!this.follows && !this.isChair) return;
    if (turn.item !== this.item) await this.show(turn.item);
    else if (!this.isChair) this.table?.follow(turn.look);
  }

  async #fetchReading() {
    const answer = await ask(`${this.dataset.base}reading/`);
    if (!answer.ok) return;
    const place = this.querySelector("[data-reading]");
    place?.replaceChildren(...parsed(await answer.text()).children);
    this.#refreshSoon(Math.random() * SPREAD_MS);
  }

  /** Lay an item of the list on this page's table. @param {string} item */
  async show(item) {
    const answer = await ask(`${this.dataset.parts}?item=${item}&table=yes`);
    if (!answer.ok) return;
    const fresh = parsed(await answer.text());
    const table = fresh.querySelector("[data-table]");
    table?.remove();
    this.table?.takeDown();
    this.dataset.item = item;
    this.querySelector("[data-table]")?.replaceChildren(...(table?.childNodes ?? []));
    swapAll(fresh);
    this.draw();
    await this.#lay();
  }

  async #lay() {
    this.#onTable.abort();
    this.#onTable = new AbortController();
    const table = new Table(this, {
      moved: (look) => this.moved(look),
      taken: () => {
        if (!this.isChair && this.follows) this.follow(false);
      },
    });
    this.table = table;
    try {
      await table.lay();
    } catch {
      this.#say("The pictures could not be opened. Load the page again.", true);
      return;
    }
    if (table.stand) this.tips.lieOn(table.stand, this.#onTable.signal);
    const leads = this.follows || this.isChair;
    if (leads && this.#turn.item === this.item) table.follow(this.#turn.look);
  }

  /** The chair looked elsewhere: everybody is to see it. @param {Told} look */
  moved(look) {
    if (!this.isChair || this.#turn.item !== this.item) return;
    if (!this.line?.say({ type: "look", ...look })) this.post("look", look);
  }

  /** @param {string} act @param {Told} said */
  async post(act, said) {
    const body = new FormData();
    body.set("csrfmiddlewaretoken", this.token);
    for (const [name, value] of Object.entries(said)) body.set(name, String(value));
    try {
      const answer = await ask(`${this.dataset.base}${act}/`, { method: "POST", body });
      if (!answer.ok) this.#say("That did not go through. Load the page again.", true);
    } catch {
      this.#say("The line is down; press again when it is back.", true);
    }
  }

  /** Follow the chair, or look by oneself. @param {boolean} on */
  follow(on) {
    this.follows = on;
    if (this.line) this.line.follows = on || this.isChair;
    this.line?.say({ type: "follow", on });
    this.draw();
    if (on) this.#turned({ ...this.#turn });
  }

  /** The chair lays an item before everybody; anybody else looks at it alone. @param {string} item */
  choose(item) {
    if (this.isChair) return void this.post("turn", { item });
    if (this.follows) this.follow(false);
    this.show(item);
  }

  draw() {
    const turn = this.#turn;
    const { follows, item } = this;
    this.tips.know(this.#state.seats ?? []);
    this.head.draw({ state: this.#state, turn, follows, tip: this.tips.on, item });
    this.head.shows(item);
    this.aloud.lead(this.isChair);
    if (turn.reading) this.aloud.turnTo(turn.look.page);
  }

  /** @param {number} wait milliseconds */
  #refreshSoon(wait) {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => {
      refresh(`${this.dataset.parts}?item=${this.item}`)
        .then(() => this.draw())
        .catch(() => undefined);
    }, wait + 50);
  }
}

customElements.define("board-sitting", BoardSitting);
