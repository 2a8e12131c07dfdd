import { actsOf, change, remove } from "#outbox/outbox.js";

/**
 * Sending what waits: one after the other, by one tab at a time, each until the board
 * has answered. Every act carries its own id, so sending it twice does it once.
 *
 * @typedef {import("#outbox/outbox.js").Act} Act
 * @typedef {"up" | "down" | "signed out"} Line
 */

const WITHIN_MS = 30_000;
const RIGHTS = "/waiting/rights.json";
const AGAIN = new Set([408, 425, 429]);

/**
 * Ask who is signed in and what is open to them, and tell the worker.
 *
 * @param {string} person of the page
 * @returns {Promise<Line>}
 */
export async function contact(person) {
  try {
    const signal = AbortSignal.timeout(WITHIN_MS);
    const answer = await fetch(RIGHTS, { cache: "no-store", signal });
    if (!answer.ok) return "down";
    const told = await answer.json();
    navigator.serviceWorker?.controller?.postMessage({ ask: "rights", ...told });
    return told.person === person ? "up" : "signed out";
  } catch {
    return "down";
  }
}

/**
 * Send everything that waits for this person, in order.
 *
 * @param {string} person
 * @returns {Promise<Line | "busy">} how the line was in the end
 */
export async function sendAll(person) {
  if (!navigator.onLine) return "down";
  if (!navigator.locks) return sendInTurn(person);
  return navigator.locks.request("board:outbox", { ifAvailable: true }, (lock) =>
    lock ? sendInTurn(person) : Promise.resolve(/** @type {const} */ ("busy")),
  );
}

/** @param {string} person @returns {Promise<Line>} */
async function sendInTurn(person) {
  const first = await contact(person);
  if (first !== "up") return first;
  let sent = false;
  /** @type {Line} */
  let line = "up";
  for (const act of await actsOf(person)) {
    if (act.state === "back" || (await waitsForAnother(act))) continue;
    line = await send(act);
    if (line !== "up") break;
    sent = true;
  }
  if (sent) document.dispatchEvent(new CustomEvent("board:sent"));
  return line;
}

/** An initial never overtakes a note on its item that came back. @param {Act} act */
async function waitsForAnother(act) {
  if (act.sort !== "initial") return false;
  const all = await actsOf(act.person);
  return all.some(
    (one) => one.state === "back" && one.item === act.item && one.id < act.id,
  );
}

/** @param {Act} act @returns {Promise<Line>} */
async function send(act) {
  // Another tab may have taken it out or opened it to change it.
  if (!(await change(act.id, ["waits", "tried"], { state: "tried" }))) return "up";
  const [fresh] = (await actsOf(act.person)).filter((one) => one.id === act.id);
  if (!fresh) return "up";
  try {
    const answer = await posted(fresh);
    const gone =
      answer.redirected && new URL(answer.url).pathname.startsWith("/people/");
    if (gone || answer.status === 401) {
      await change(act.id, ["tried"], { state: act.state });
      return "signed out";
    }
    return await settle(fresh, answer);
  } catch {
    return "down";
  }
}

/** @param {Act} act */
function posted(act) {
  const body = new FormData();
  for (const [name, value] of act.fields) body.append(name, value);
  const token = /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";
  return fetch(act.address, {
    method: "POST",
    body,
    headers: {
      "Board-Part": "yes",
      "Board-Person": act.person,
      "X-CSRFToken": token,
      Accept: "text/html",
    },
    signal: AbortSignal.timeout(WITHIN_MS),
  });
}

/** The board has it, or says why not; anything else is the line. @param {Act} act @param {Response} answer @returns {Promise<Line>} */
async function settle(act, answer) {
  const told = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (answer.ok) {
    // A page that is not ours, such as a harbour's sign-in, says nothing was done.
    if (!told.querySelector("[data-done]")) return "down";
    await remove(act.id);
    return "up";
  }
  const tooOld = told.querySelector("[data-too-old]");
  if (answer.status >= 500 || AGAIN.has(answer.status) || tooOld) return "down";
  const reasons = [...told.querySelectorAll("[data-reasons] li")].map(
    (one) => one.textContent?.trim() ?? "",
  );
  if (reasons.length === 0) reasons.push(`The board answered ${answer.status}.`);
  await change(act.id, ["tried"], { state: "back", reasons });
  return "up";
}
