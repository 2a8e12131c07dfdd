import { waitBefore } from "#lib/backoff.js";
import { weigh } from "#lib/counting.js";
import { ask } from "#viewing/parts.js";

/**
 * The line of a sitting: a socket, and where none gets through, short polling.
 *
 * @typedef {Record<string, any>} Told as the server writes it
 * @typedef {{ state(told: Told): void, event(told: Told): void, look(told: Told): void,
 *   pointer(told: Told): void, seats(told: Told): void, refused(told: Told): void,
 *   line(how: "up" | "down" | "polling"): void, ended(code: number): void }} Ears
 */

const ENDED = new Set([4401, 4403, 4404]);
const POLL_MS = 3000;
const TRIES = 2;
const AGAIN_MS = 60_000;

export class Line {
  #number = -1;
  #sight = "";
  #attempt = 0;
  #opened = false;
  #timer = 0;
  #again = 0;
  /** @type {WebSocket | null} */
  #socket = null;

  /**
   * @param {{ live: string, poll: string, token: string }} where
   * @param {Ears} ears
   * @param {AbortSignal} signal
   */
  constructor(where, ears, signal) {
    this.where = where;
    this.ears = ears;
    this.signal = signal;
    this.follows = true;
    window.addEventListener("online", () => this.#hasten(), { signal });
    signal.addEventListener("abort", () => {
      clearTimeout(this.#timer);
      clearTimeout(this.#again);
      this.#socket?.close();
    });
  }

  /** @param {Told} state what the page was drawn from */
  begin(state) {
    this.#number = state.number;
    this.#sight = state.sight;
    this.#connect();
  }

  get isUp() {
    return this.#socket?.readyState === WebSocket.OPEN;
  }

  /** @param {Told} message @returns {boolean} whether it went out */
  say(message) {
    if (!this.isUp) return false;
    this.#socket?.send(JSON.stringify(message));
    return true;
  }

  #connect() {
    const address = new URL(this.where.live, location.href);
    address.protocol = location.protocol === "https:" ? "wss:" : "ws:";
    address.searchParams.set("since", String(this.#number));
    address.searchParams.set("sight", this.#sight);
    const socket = new WebSocket(address);
    this.#socket = socket;
    socket.addEventListener("open", () => {
      this.#attempt = 0;
      this.#opened = true;
      clearTimeout(this.#timer);
      this.ears.line("up");
      if (!this.follows) this.say({ type: "follow", on: false });
    });
    socket.addEventListener("message", (event) => {
      this.#take(JSON.parse(String(event.data)));
    });
    socket.addEventListener("close", (event) => this.#closed(event.code));
  }

  /** @param {number} code */
  #closed(code) {
    if (this.signal.aborted) return;
    if (ENDED.has(code)) return this.ears.ended(code);
    this.#attempt += 1;
    if (!this.#opened && this.#attempt >= TRIES) {
      this.ears.line("polling");
      this.#again = window.setTimeout(() => this.#connect(), AGAIN_MS);
      this.#poll();
      return;
    }
    this.ears.line("down");
    const wait = waitBefore(this.#attempt - 1, Math.random());
    this.#timer = window.setTimeout(() => this.#connect(), wait);
  }

  #hasten() {
    if (this.#socket?.readyState !== WebSocket.CLOSED) return;
    clearTimeout(this.#timer);
    this.#connect();
  }

  async #poll() {
    clearTimeout(this.#timer);
    if (this.signal.aborted || this.isUp) return;
    const body = new FormData();
    body.set("csrfmiddlewaretoken", this.where.token);
    body.set("since", String(this.#number));
    body.set("sight", this.#sight);
    body.set("follows", this.follows ? "yes" : "no");
    try {
      const answer = await ask(this.where.poll, { method: "POST", body });
      if (answer.status === 404 || answer.status === 403)
        return this.ears.ended(4000 + answer.status);
      if (answer.ok && !answer.redirected) {
        const { state, events } = await answer.json();
        this.#take(state);
        for (const event of events) this.#take(event);
      }
    } catch {
      // No line at all: the next round asks again.
    }
    this.#timer = window.setTimeout(() => this.#poll(), POLL_MS);
  }

  /** @param {Told} told */
  #take(told) {
    if (told.type === "state") {
      if (told.fresh) this.#number = told.number;
      this.#sight = told.sight;
      this.ears.state(told);
    } else if (told.type === "event") this.#count(told);
    else if (told.type === "head") {
      if (told.number > this.#number) this.#askAgain();
    } else if (told.type === "look") this.ears.look(told);
    else if (told.type === "pointer") this.ears.pointer(told);
    else if (told.type === "seats") this.ears.seats(told);
    else if (told.type === "refused") this.ears.refused(told);
  }

  /** @param {Told} told */
  #count(told) {
    const what = weigh(this.#number, told.number);
    if (what === "ask") return this.#askAgain();
    if (what === "drop") return;
    this.#number = told.number;
    document.dispatchEvent(new CustomEvent("board:counted", { detail: told }));
    this.ears.event(told);
  }

  #askAgain() {
    this.say({ type: "missed", since: this.#number });
  }
}
