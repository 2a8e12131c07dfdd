/**
 * Ask the board's own doors for JSON; a refusal is told in its own sentence.
 *
 * @typedef {{ key: string, filename: string, length: number, received: number,
 *   state: string, refused: string, item: string | null, stage: string, sure: boolean,
 *   tus: string, revision: string | null }} Upload
 * @typedef {{ key: string, state: string, step: string, says: string, share: number,
 *   over: boolean }} Progress
 */

const UNREACHED =
  "The board could not be reached. Trying again helps once the line is back.";

/** What the board said no to, in its words. */
export class Refused extends Error {
  /** @param {string} says @param {number} status */
  constructor(says, status) {
    super(says);
    this.status = status;
  }
}

/**
 * @param {string} address
 * @param {{ method?: string, body?: object, token?: string }} [how]
 * @returns {Promise<any>} what the board answered
 */
export async function ask(address, { method = "GET", body, token = "" } = {}) {
  /** @type {Record<string, string>} */
  const headers = { Accept: "application/json" };
  if (token) headers["X-CSRFToken"] = token;
  if (body) headers["Content-Type"] = "application/json";
  const answer = await fetch(address, {
    method,
    headers,
    body: body && JSON.stringify(body),
    signal: AbortSignal.timeout(30_000),
  }).catch(() => {
    throw new Refused(UNREACHED, 0);
  });
  const told = answer.status === 204 ? null : await answer.json().catch(() => null);
  if (!answer.ok) {
    const says = told?.detail ?? told?.title ?? "The board could not do that.";
    throw new Refused(says, answer.status);
  }
  return told;
}
