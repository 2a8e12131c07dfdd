import { waitBefore } from "#lib/backoff.js";

/**
 * The live line of a book: says that something was entered, never what. The page then
 * asks for its parts through the ordinary, permitted views.
 *
 * @typedef {{ entered(item: string, kind: string): void, ended(out: boolean): void,
 *   line(up: boolean): void }} Ears
 */

const SIGNED_OUT = 4401;
const ENDED = new Set([SIGNED_OUT, 4403, 4404]);

/** @param {string} what @param {object} detail */
function tell(what, detail) {
  document.dispatchEvent(new CustomEvent(what, { detail }));
}

/**
 * @param {string} path like /live/<book>/
 * @param {Ears} ears
 * @param {AbortSignal} signal
 */
export function listen(path, ears, signal) {
  let attempt = 0;
  let timer = 0;
  let missed = false;
  /** @type {WebSocket | null} */
  let socket = null;

  const connect = () => {
    const address = new URL(path, location.href);
    address.protocol = location.protocol === "https:" ? "wss:" : "ws:";
    socket = new WebSocket(address);
    socket.addEventListener("open", () => {
      attempt = 0;
      ears.line(true);
      tell("board:line", { up: true });
      if (missed) ears.entered("", "missed");
      missed = false;
    });
    socket.addEventListener("message", (event) => {
      const told = JSON.parse(String(event.data));
      if (told.type === "entered") ears.entered(told.item ?? "", told.kind ?? "");
    });
    socket.addEventListener("close", (event) => {
      if (signal.aborted) return;
      if (ENDED.has(event.code)) {
        if (event.code !== SIGNED_OUT) tell("board:ended", {});
        return ears.ended(event.code === SIGNED_OUT);
      }
      missed = true;
      ears.line(false);
      tell("board:line", { up: false });
      timer = window.setTimeout(connect, waitBefore(attempt, Math.random()));
      attempt += 1;
    });
  };

  const hasten = () => {
    if (socket?.readyState !== WebSocket.CLOSED) return;
    clearTimeout(timer);
    attempt = 0;
    connect();
  };

  window.addEventListener("online", hasten, { signal });
  signal.addEventListener("abort", () => {
    clearTimeout(timer);
    socket?.close();
  });
  connect();
}
