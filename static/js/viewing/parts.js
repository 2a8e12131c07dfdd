import { personOfPage } from "#outbox/aside.js";

/**
 * Parts of a page, drawn by the server and swapped in place.
 *
 * A part is any element with `data-part`; the address in `data-parts` on the room gives
 * the newest of all of them. Open forms inside a slot (`data-slot`) are moved over.
 */

const HEADERS = { "Board-Part": "yes", Accept: "text/html" };

/** @param {string} html */
export function parsed(html) {
  return new DOMParser().parseFromString(html, "text/html").body;
}

/** @param {string} address @param {RequestInit} [more] */
export function ask(address, more = {}) {
  // Whom the page was drawn for; the board does nothing as somebody else.
  const headers = { ...HEADERS, "Board-Person": personOfPage() };
  return fetch(address, { credentials: "same-origin", headers, ...more });
}

/** Whether an answer is the sign-in page instead of what was asked. @param {Response} answer */
export function signedOut(answer) {
  if (answer.status === 401) return true;
  return answer.redirected && new URL(answer.url).pathname.startsWith("/people/");
}

/** Fetch every part of the room anew. @param {string} address @returns {Promise<boolean>} */
export async function refresh(address) {
  const answer = await ask(address);
  if (!answer.ok || signedOut(answer)) return false;
  swapAll(parsed(await answer.text()));
  return true;
}

/** @param {Element} fresh */
export function swapAll(fresh) {
  for (const part of fresh.querySelectorAll("[data-part]")) {
    const name = part.getAttribute("data-part");
    const old = document.querySelector(`[data-part="${name}"]`);
    if (old) swap(old, part);
  }
  document.dispatchEvent(new CustomEvent("board:swapped"));
}

/** @param {Element} old @param {Element} fresh */
function swap(old, fresh) {
  const active = document.activeElement;
  const focus = placeOf(active, old);
  for (const slot of old.querySelectorAll("[data-slot]")) {
    if (slot.childElementCount === 0) continue;
    const name = CSS.escape(slot.getAttribute("data-slot") ?? "");
    fresh.querySelector(`[data-slot="${name}"]`)?.replaceChildren(...slot.childNodes);
  }
  for (const fold of old.querySelectorAll("details[open][id]"))
    fresh.querySelector(`#${CSS.escape(fold.id)}`)?.setAttribute("open", "");
  const scroll = window.scrollY;
  old.replaceWith(document.adoptNode(fresh));
  // Whoever types in an open form goes on typing in it, at its new place.
  const typing = active instanceof HTMLElement && active.isConnected;
  if (focus && typing) active.focus({ preventScroll: true });
  else if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
  window.scrollTo({ top: scroll });
}

/** The id to give the keyboard back to. @param {Element | null} active @param {Element} part */
function placeOf(active, part) {
  if (!active || !part.contains(active)) return "";
  return active.id || active.closest("[id]")?.id || "";
}
