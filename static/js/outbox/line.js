import { waitBefore } from "#lib/backoff.js";
import { momentWords } from "#lib/pocket.js";
import { actsOf, onChange } from "#outbox/outbox.js";
import { contact, sendAll } from "#outbox/sending.js";

/**
 * `<board-line>`: a strip on every page that says how the line is, what waits to be
 * sent, and as of when a kept page is; it sends what waits when the line is back.
 *
 * @typedef {import("#outbox/sending.js").Line} Line
 */
class BoardLine extends HTMLElement {
  #ended = new AbortController();
  #timer = 0;
  #attempt = 0;
  #down = 0;
  #out = false;

  connectedCallback() {
    const { signal } = this.#ended;
    if (this.dataset.asOf) this.#down = Number(this.dataset.asOf);
    window.addEventListener("online", () => this.#hasten(), { signal });
    window.addEventListener("offline", () => this.#is("down"), { signal });
    document.addEventListener("board:line", (event) => this.#heard(event), { signal });
    document.addEventListener("board:hasten", () => this.#hasten(), { signal });
    document.addEventListener("board:ended", () => this.#drop(), { signal });
    document.addEventListener("visibilitychange", () => this.#seen(), { signal });
    onChange(() => this.#tell(), signal);
    this.#keep();
    this.#hasten();
  }

  disconnectedCallback() {
    this.#ended.abort();
    clearTimeout(this.#timer);
  }

  get #person() {
    return this.dataset.person ?? "";
  }

  #seen() {
    if (document.visibilityState === "visible") this.#hasten();
  }

  /** @param {Event} event */
  #heard(event) {
    const { up } = /** @type {CustomEvent<{ up: boolean }>} */ (event).detail;
    if (!up) this.#is("down");
    else if (this.#down) this.#hasten();
  }

  #hasten() {
    this.#attempt = 0;
    this.#send();
  }

  async #send() {
    clearTimeout(this.#timer);
    const waiting = (await acts(this.#person)).some((act) => act.state !== "back");
    const line = waiting ? await sendAll(this.#person) : await this.#contact();
    if (line !== "busy") this.#is(line);
    if (line === "signed out") return;
    const again = line === "down" ? waiting || this.#down > 0 : line === "busy";
    if (!again || this.#ended.signal.aborted) return;
    const wait = waitBefore(this.#attempt, Math.random());
    this.#timer = window.setTimeout(() => this.#send(), wait);
    this.#attempt += 1;
  }

  /** @returns {Promise<Line>} */
  async #contact() {
    return navigator.onLine ? contact(this.#person) : "down";
  }

  /** @param {Line} line */
  #is(line) {
    if (line === "down") this.#down ||= Date.now();
    // A kept page stays what it was, line or no line, until it is loaded again.
    else if (!this.dataset.asOf) this.#down = 0;
    this.#out = line === "signed out";
    this.#tell(line !== "down");
  }

  async #tell(up = navigator.onLine) {
    const all = await acts(this.#person);
    const back = all.filter((act) => act.state === "back").length;
    const words = this.#lineWords(up);
    if (all.length > back) words.push(`${all.length - back} waiting to be sent.`);
    if (back > 0) words.push(`${back} came back, with reasons.`);
    this.hidden = words.length === 0;
    const place = this.querySelector("[data-line-words]");
    const said = words.join(" ");
    // Said again only when it is different, or it would be read out each time.
    if (place && place.textContent !== said) place.textContent = said;
    show(this.querySelector("[data-line-waiting]"), all.length > 0);
    show(this.querySelector("[data-line-again]"), Boolean(this.dataset.asOf) && up);
    show(this.querySelector("[data-line-in]"), this.#out);
  }

  /** @param {boolean} up @returns {string[]} */
  #lineWords(up) {
    if (this.#out) return ["You are signed out here. Sign in, and what waits is sent."];
    if (!this.#down) return [];
    const moment = momentWords(this.#down, new Date());
    if (this.dataset.asOf && up)
      return [
        `As of ${moment}. The line is back; load the page to see it as it is now.`,
      ];
    if (this.dataset.asOf)
      return [
        `As of ${moment}, offline. What you write waits here until the line is back.`,
      ];
    return [`The line is down since ${moment}. What you write waits here.`];
  }

  #drop() {
    const book = this.dataset.book ?? "";
    navigator.serviceWorker?.controller?.postMessage({ ask: "drop", book });
  }

  /** Have the worker keep this page, once everything on it is there. */
  async #keep() {
    if (!navigator.serviceWorker || this.dataset.asOf || !navigator.onLine) return;
    // A worker that came while the page was loading did not see it pass.
    const [{ workerStart }] = /** @type {PerformanceNavigationTiming[]} */ (
      performance.getEntriesByType("navigation")
    );
    await loaded();
    try {
      const how = /** @type {const} */ ({ type: "module", updateViaCache: "none" });
      await navigator.serviceWorker.register("/worker.js", how);
      const { active } = await navigator.serviceWorker.ready;
      if (workerStart > 0) return;
      const named = performance.getEntriesByType("resource").map(({ name }) => name);
      const here = (/** @type {string} */ path) =>
        named.filter((name) => name.startsWith(location.origin + path));
      active?.postMessage({
        ask: "keep",
        address: location.pathname + location.search,
        files: here("/static/"),
        pictures: here("/t/").filter((name) =>
          /\/(small|medium)\.(webp|jpg)$/.test(name),
        ),
      });
    } catch {
      // Without a worker nothing is kept to read; what is written still waits.
    }
  }
}

/** A browser that keeps nothing has nothing waiting. @param {string} person */
async function acts(person) {
  try {
    return await actsOf(person);
  } catch {
    return [];
  }
}

/** Resolves when the page is loaded and the browser has a quiet moment. */
function loaded() {
  const quiet = () => new Promise((then) => setTimeout(then, 500));
  if (document.readyState === "complete") return quiet();
  return new Promise((then) =>
    window.addEventListener("load", () => quiet().then(then), { once: true }),
  );
}

/** @param {Element | null} element @param {boolean} shown */
function show(element, shown) {
  if (element instanceof HTMLElement) element.hidden = !shown;
}

customElements.define("board-line", BoardLine);
