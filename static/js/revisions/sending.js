import { ask, Refused } from "#revisions/ask.js";
import { recall, remember } from "#revisions/memory.js";

/**
 * @typedef {import("#revisions/ask.js").Upload} Upload
 * @typedef {import("#revisions/line.js").FileLine} FileLine
 * @typedef {{ book: string, uploads: string, token: string, item: string,
 *   declared: string, signal: AbortSignal }} Said
 */

const AGAIN_MS = [0, 1000, 2000, 4000, 8000, 15_000, 15_000, 30_000, 60_000];
const LAST_MS = 60_000;

/** @param {number} bytes */
export function inWords(bytes) {
  const mb = bytes / 1e6;
  return mb < 10 ? `${mb.toFixed(1)} MB` : `${Math.round(mb)} MB`;
}

/** The kept upload library, loaded by a plain script before the modules. */
function library() {
  return /** @type {typeof import("tus-js-client")} */ (Reflect.get(globalThis, "tus"));
}

/**
 * Send one file; it goes on where an earlier try stopped, also after a reload.
 *
 * @param {File} file
 * @param {Said} said
 * @param {FileLine} line
 * @returns {Promise<Upload | null>} the upload once all of it is here, null if left out
 */
export async function sendFile(file, said, line) {
  const upload = await begun(file, said, line);
  line.clear();
  if (upload.state === "receiving") {
    const sent = await pushed(file, upload, said, line);
    if (!sent) return null;
  }
  remember(localStorage, said.book, file, "");
  return ask(`${said.uploads}${upload.key}/`);
}

/**
 * @param {File} file @param {Said} said @param {FileLine} line
 * @returns {Promise<Upload>}
 */
async function begun(file, said, line) {
  const known = recall(localStorage, said.book, file);
  if (known) {
    const upload = await ask(`${said.uploads}${known}/`).catch(forgotten);
    if (upload?.state === "receiving" || upload?.state === "arrived") {
      line.say(`${inWords(upload.received)} are here already; going on from there.`);
      return upload;
    }
  }
  const { book, token, item, declared } = said;
  const body = { book, filename: file.name, length: file.size, declared, item };
  const upload = await ask(said.uploads, { method: "POST", body, token });
  remember(localStorage, book, file, upload.key);
  return upload;
}

/** @param {unknown} refused */
function forgotten(refused) {
  if (refused instanceof Refused && refused.status) return null;
  throw refused;
}

/**
 * Push the bytes through the tus door.
 *
 * @param {File} file @param {Upload} upload @param {Said} said @param {FileLine} line
 * @returns {Promise<boolean>} false when it was left out
 */
function pushed(file, upload, said, line) {
  return new Promise((resolve, reject) => {
    const task = new (library().Upload)(file, {
      uploadUrl: upload.tus,
      uploadSize: file.size,
      retryDelays: AGAIN_MS,
      storeFingerprintForResuming: false,
      onProgress: (sent, all) => {
        line.fill(sent / all);
        const words = `${inWords(sent)} of ${inWords(all)} are here.`;
        line.say(words, { aloud: false });
      },
      onShouldRetry: (error, attempt) => {
        const status = error.originalResponse?.getStatus() ?? 0;
        const wait = AGAIN_MS[attempt] ?? LAST_MS;
        if (!status || status === 423 || status === 409 || status >= 500)
          line.say(`The line was cut. Trying again in ${Math.ceil(wait / 1000)} s.`);
        return !status || [409, 423, 429].includes(status) || status >= 500;
      },
      onError: (error) => {
        line.clear();
        line.offer("Go on", () => {
          line.clear();
          line.say("Going on.");
          offerStop();
          task.start();
        });
        line.say(cut(error));
      },
      onSuccess: () => {
        line.clear();
        line.fill(1);
        resolve(true);
      },
    });
    const offerStop = () =>
      line.offer("Leave out", async () => {
        line.clear();
        await task.abort(false);
        const address = `${said.uploads}${upload.key}/`;
        await ask(address, { method: "DELETE", token: said.token }).catch(reject);
        remember(localStorage, said.book, file, "");
        resolve(false);
      });
    said.signal.addEventListener("abort", () => task.abort(false));
    offerStop();
    line.say("Sending.");
    task.start();
  });
}

/** @param {Error} error */
function cut(error) {
  const answer = /** @type {{ originalResponse?: { getBody(): string } }} */ (error);
  const says = answer.originalResponse?.getBody();
  return says || "The line is down. What came is kept; go on when it is back.";
}
