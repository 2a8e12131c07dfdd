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
  try {
    const body = new FormData(form, submitter);
    const answer = await ask(form.action, { method: "POST", body });
    if (signedOut(answer)) return say(OUT, true);
    const told = parsed(await answer.text());
    if (!answer.ok) return refused(form, told, answer.status, say);
    forget(form);
    if (told.querySelector("[data-part]")) return swapAll(told);
    done(form, told);
    await refresh(room.dataset.parts ?? location.href);
    say(told.querySelector("[data-done]")?.textContent?.trim() || "Done.");
  } catch {
    say(DOWN, true);
  } finally {
    form.removeAttribute("aria-busy");
  }
}

/** A form in a slot goes away; one that stays is empty again, with a fresh event. @param {HTMLFormElement} form @param {Element} told */
function done(form, told) {
  const slot = form.closest("[data-slot]");
  if (slot) return shut(slot);
  form.reset();
  form.closest("details")?.removeAttribute("open");
  for (const old of form.querySelectorAll("[data-reasons]")) old.remove();
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
    say(DOWN, true);
  }
}

/** @param {Element | null} slot */
function shut(slot) {
  if (!slot) return;
  slot.replaceChildren();
  const row = slot.closest("[tabindex]");
  if (row instanceof HTMLElement) row.focus({ preventScroll: true });
}
