import { ask, Refused } from "#revisions/ask.js";
import { FileLine } from "#revisions/line.js";
import { sendFile } from "#revisions/sending.js";

/** @typedef {import("#revisions/ask.js").Progress} Progress */

const AT_ONCE = 2;
const LOOK_MS = 1000;
const LONGEST_LOOKS = 900;

/** Files dropped or chosen are sent one after another, each with its line. */
class BoardSend extends HTMLElement {
  #over = new AbortController();
  /** @type {File[]} */
  #waiting = [];
  /** @type {Map<File, FileLine>} */
  #lines = new Map();
  #busy = 0;

  connectedCallback() {
    this.#over = new AbortController();
    const { signal } = this.#over;
    const form = this.querySelector("form");
    const input = this.querySelector("input[type=file]");
    if (!form || !(input instanceof HTMLInputElement)) return;
    this.querySelector(".drop-word")?.removeAttribute("hidden");
    form.addEventListener(
      "submit",
      (event) => {
        event.preventDefault();
        if (input.files?.length) this.#take(input.files);
        else this.#call("Choose one or more files first.");
        input.value = "";
      },
      { signal },
    );
    this.addEventListener("dragover", (event) => this.#hover(event, true), { signal });
    this.addEventListener("dragleave", (event) => this.#hover(event, false), {
      signal,
    });
    this.addEventListener(
      "drop",
      (event) => {
        this.#hover(event, false);
        if (event.dataTransfer?.files.length) this.#take(event.dataTransfer.files);
      },
      { signal },
    );
    addEventListener("beforeunload", (event) => this.#busy && event.preventDefault(), {
      signal,
    });
  }

  disconnectedCallback() {
    this.#over.abort();
  }

  /** @param {DragEvent} event @param {boolean} over */
  #hover(event, over) {
    event.preventDefault();
    this.classList.toggle("send-over", over);
  }

  /** @param {string} says */
  #call(says) {
    const aloud = this.querySelector("[aria-live]");
    if (aloud) aloud.textContent = says;
  }

  /** @param {FileList} files */
  #take(files) {
    document.querySelector("#folder-head ~ .empty")?.remove();
    for (const file of files) {
      const line = new FileLine(file.name, (says) => this.#call(says));
      this.querySelector(".send-lines")?.append(line.element);
      this.#lines.set(file, line);
      line.say("Waiting for its turn.", { aloud: false });
      this.#waiting.push(file);
    }
    this.#call(`${files.length} ${files.length === 1 ? "file" : "files"} to send.`);
    this.#next();
  }

  #next() {
    while (this.#busy < AT_ONCE) {
      const file = this.#waiting.shift();
      if (!file) return;
      this.#busy += 1;
      this.#send(file).finally(() => {
        this.#busy -= 1;
        this.#next();
      });
    }
  }

  /** @param {File} file */
  async #send(file) {
    const line = this.#lines.get(file);
    if (!line) return;
    try {
      const upload = await sendFile(file, this.#said(), line);
      if (!upload) line.say("Left out.");
      else if (upload.state === "refused") line.refuse(upload.refused);
      else if (upload.revision) await this.#watch(upload.revision, line);
      else this.#askMatch(line);
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      line.refuse(refused.message);
      if (!refused.status || refused.status >= 500)
        line.offer("Try again", () => {
          line.clear();
          this.#waiting.push(file);
          this.#next();
        });
    }
  }

  #said() {
    const told = new FormData(this.querySelector("form") ?? undefined);
    const field = (/** @type {string} */ name) => String(told.get(name) ?? "");
    return {
      book: this.dataset.book ?? "",
      uploads: this.dataset.uploads ?? "",
      token: field("csrfmiddlewaretoken"),
      item: field("item"),
      declared: field("declared"),
      signal: this.#over.signal,
    };
  }

  /** @param {FileLine} line */
  #askMatch(line) {
    line.say("All of it is here. Say what it is for, then it goes into the folder.");
    line.lead("Say what it is for", `/pictures/books/${this.dataset.book}/match/`);
  }

  /** Tell the steps of the preparation as they happen. @param {string} key @param {FileLine} line */
  async #watch(key, line) {
    const address = `/pictures/${key}/progress/`;
    for (let looks = 0; looks < LONGEST_LOOKS; looks += 1) {
      if (this.#over.signal.aborted) return;
      /** @type {Progress & { folder: string } | null} */
      const progress = await ask(address).catch(() => null);
      if (progress) {
        line.fill(progress.share);
        if (progress.state === "failed") return line.refuse(progress.says);
        line.say(progress.says);
        if (progress.over) return line.lead("To the folder", progress.folder);
      }
      await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
    }
  }
}

customElements.define("board-send", BoardSend);
