import { freshen, isQueue, layAside, mayWait } from "#outbox/aside.js";
import { forget, keep, putBack } from "#viewing/kept_words.js";
import { ask, parsed, refresh, signedOut, swapAll } from "#viewing/parts.js";

/**
 * Plain forms, enlivened: sent without leaving the page, answered in place, their words
 * kept until the server has them. Without scripts the same forms still work.
 */

const DOWN =
  "The line is down. Your words are kept here; press again when the line is back.";
const OUT =
  "You are signed out. Your words are kept here: sign in in another window, then press again.";
const WAITS_DOWN =
  "The line is down. It waits on this device and is sent when the line is back.";
const WAITS_OUT =
  "You are signed out. It waits on this device; sign in and it is sent.";
const WAITS_ITS_TURN = "It waits its turn behind what was written before it.";
const NO_ANSWER_MS = 30_000;

/**
 * @param {HTMLElement} room holds the forms; `data-parts` is where its parts are told
 * @param {(words: string, wrong?: boolean) => void} say
 */
export function enliven(room, say) {
  room.addEventListener("submit", (event) => {
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (!form.matches("[data-enliven]")) return;
    event.preventDefault();
    send(room, form, event.submitter, say);
  });
  room.addEventListener("click", (event) => {
    const link = /** @type {Element} */ (event.target).closest("a[data-opens]");
    if (!(link instanceof HTMLAnchorElement) || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    open(link, say);
  });
  room.addEventListener("input", (event) => {
    const { form } = /** @type {HTMLTextAreaElement} */ (event.target);
    if (form?.dataset.keep) keep(form);
  });
  room.addEventListener("click", (event) => {
    const stop = /** @type {Element} */ (event.target).closest("[data-stop]");
    if (!stop) return;
    event.preventDefault();
    const form = stop.closest("form");
    if (form) forget(form);
    shut(stop.closest("[data-slot]"));
  });
  document.addEventListener("board:sent", () => {
    refresh(room.dataset.parts ?? location.href).catch(() => undefined);
  });
  restore(room);
}

/** Put kept words back. @param {ParentNode} within */
function restore(within) {
  for (const form of within.querySelectorAll("form[data-keep]"))
    putBack(/** @type {HTMLFormElement} */ (form));
}

/**
 * @param {HTMLElement} room
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} submitter
 * @param {(words: string, wrong?: boolean) => void} say
 */
async function send(room, form, submitter, say) {
  if (form.getAttribute("aria-busy") === "true") return;
  form.setAttribute("aria-busy", "true");
  const body = new FormData(form, submitter);
  const aside = async (/** @type {string} */ words, tried = false) => {
    const done = mayWait(form) && (await laidAside(room, form, body, tried));
    if (done) say(words);
    return done;
  };
  try {
    if (await waitsFirst(aside)) return;
    const signal = mayWait(form) ? AbortSignal.timeout(NO_ANSWER_MS) : null;
    const answer = await ask(form.action, { method: "POST", body, signal });
    if (signedOut(answer) || (await isTooOld(answer)))
      return (await aside(WAITS_OUT)) || say(OUT, true);
    await settle(room, form, answer, say);
  } catch {
    if (!(await aside(WAITS_DOWN, true))) say(DOWN, true);
  } finally {
    form.removeAttribute("aria-busy");
  }
}

/** Whether the page's token went with the session. @param {Response} answer */
async function isTooOld(answer) {
  if (answer.status !== 403) return false;
  return parsed(await answer.clone().text()).querySelector("[data-too-old]") !== null;
}

/** Without a line, or behind what waits already, nothing is sent now. @param {(words: string) => Promise<boolean>} aside */
async function waitsFirst(aside) {
  if (!navigator.onLine) return aside(WAITS_DOWN);
  return (await isQueue()) && aside(WAITS_ITS_TURN);
}

/**
 * @param {HTMLElement} room
 * @param {HTMLFormElement} form
 * @param {Response} answer
 * @param {(words: string, wrong?: boolean) => void} say
 */
async function settle(room, form, answer, say) {
  const told = parsed(await answer.text());
  if (!answer.ok) return refused(form, told, answer.status, say);
  forget(form);
  if (told.querySelector("[data-part]")) return swapAll(told);
  done(form, told);
  // What was done is done, even if the line goes before the page is drawn anew.
  await refresh(room.dataset.parts ?? location.href).catch(() => undefined);
  say(told.querySelector("[data-done]")?.textContent?.trim() || "Done.");
}

/**
 * Lay what the form would send aside; the form is empty again.
 *
 * @param {HTMLElement} room
 * @param {HTMLFormElement} form
 * @param {FormData} body
 * @param {boolean} tried whether it may have reached the board
 */
async function laidAside(room, form, body, tried) {
  const item = room.dataset.item ?? "";
  const called = [room.dataset.called, form.dataset.called].filter(Boolean).join(", ");
  if (!(await layAside(form, body, { item, called, tried }))) return false;
  forget(form);
  done(form);
  document.dispatchEvent(new CustomEvent("board:hasten"));
  return true;
}

/** A form in a slot goes away; one that stays is empty again, with a fresh event. @param {HTMLFormElement} form @param {Element} [told] */
function done(form, told) {
  const slot = form.closest("[data-slot]");
  if (slot) return shut(slot);
  form.reset();
  form.closest("details")?.removeAttribute("open");
  for (const old of form.querySelectorAll("[data-reasons]")) old.remove();
  if (!told) return freshen(form);
  const fresh = told.querySelector("[data-event]")?.getAttribute("data-event");
  const event = form.elements.namedItem("event");
  if (event instanceof HTMLInputElement && fresh) event.value = fresh;
}

/**
 * Show what stands in the way, above the words that were typed.
 *
 * @param {HTMLFormElement} form
 * @param {Element} told
 * @param {number} status
 * @param {(words: string, wrong?: boolean) => void} say
 */
function refused(form, told, status, say) {
  const reasons = told.querySelector("[data-reasons]");
  for (const old of form.querySelectorAll("[data-reasons]")) old.remove();
  if (reasons) form.prepend(document.adoptNode(reasons));
  const event = told.querySelector('[name="event"]')?.getAttribute("value");
  const field = form.elements.namedItem("event");
  if (field instanceof HTMLInputElement && event) field.value = event;
  rippleAnew(form, told);
  const words = reasons?.textContent?.trim();
  say(words || `The board answered ${status}. Your words are kept; try again.`, true);
}

/** What the act would touch by now, and its digest. @param {HTMLFormElement} form @param {Element} told */
function rippleAnew(form, told) {
  const now = told.querySelector("[data-ripple]");
  const digest = told.querySelector('[name="ripple"]')?.getAttribute("value");
  const field = form.elements.namedItem("ripple");
  if (!now || !digest || !(field instanceof HTMLInputElement)) return;
  field.value = digest;
  for (const old of form.querySelectorAll("[data-ripple]")) old.remove();
  field.before(document.adoptNode(now));
}

/** @param {HTMLAnchorElement} link @param {(words: string, wrong?: boolean) => void} say */
async function open(link, say) {
  const name = CSS.escape(link.dataset.opens ?? "");
  try {
    const answer = await ask(link.href);
    if (signedOut(answer)) return say(OUT, true);
    const form = parsed(await answer.text()).querySelector("form[data-enliven]");
    // Looked for only now: meanwhile the part may have been drawn anew.
    const slot = document.querySelector(`[data-slot="${name}"]`);
    if (!answer.ok || !form || !slot) return location.assign(link.href);
    slot.replaceChildren(document.adoptNode(form));
    restore(slot);
    slot
      .querySelector("textarea, select, input:not([type=hidden]), button")
      // @ts-expect-error each of these can take the keyboard
      ?.focus();
  } catch {
    if (!openKept(link)) say(DOWN, true);
  }
}

/** Without a line, the form that lies in the page for this act. @param {HTMLAnchorElement} link */
function openKept(link) {
  const act = new URL(link.href).pathname.split("/").at(-2) ?? "";
  const kept = document.querySelector(`template[data-act="${CSS.escape(act)}"]`);
  const slot = document.querySelector(
    `[data-slot="${CSS.escape(link.dataset.opens ?? "")}"]`,
  );
  if (!(kept instanceof HTMLTemplateElement) || !slot) return false;
  const form = document.importNode(kept.content, true).querySelector("form");
  if (!form) return false;
  form.action = form.dataset.keep = new URL(link.href).pathname;
  freshen(form);
  slot.replaceChildren(form);
  restore(slot);
  form.querySelector("textarea")?.focus();
  return true;
}

/** @param {Element | null} slot */
function shut(slot) {
  if (!slot) return;
  slot.replaceChildren();
  const row = slot.closest("[tabindex]");
  if (row instanceof HTMLElement) row.focus({ preventScroll: true });
}
