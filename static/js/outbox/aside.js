import { actsOf, newEvent, put } from "#outbox/outbox.js";

/**
 * Laying an act aside for the outbox instead of losing it.
 *
 * A form with `data-waits` (note, answer or initial) may wait; every other needs the
 * line, since it shows what it touches before it is sent.
 */

const UNKEPT = new Set(["csrfmiddlewaretoken"]);

/** Who the page was drawn for. */
export function personOfPage() {
  const meta = document.querySelector('meta[name="board-person"]');
  return meta?.getAttribute("content") ?? "";
}

/** @param {HTMLFormElement} form */
export function mayWait(form) {
  return Boolean(form.dataset.waits && personOfPage());
}

/** Whether something waits already, so that this must wait its turn. */
export async function isQueue() {
  try {
    return (await actsOf(personOfPage())).some((act) => act.state !== "back");
  } catch {
    return false;
  }
}

/**
 * Keep what a form would send.
 *
 * @param {HTMLFormElement} form
 * @param {FormData} body
 * @param {{ item: string, called: string, tried: boolean }} told `tried` when it was
 *   sent and no answer came
 * @returns {Promise<boolean>} whether the browser keeps it
 */
export async function layAside(form, body, { item, called, tried }) {
  const fields = [...body].filter(([name, value]) => {
    return !UNKEPT.has(name) && (typeof value === "string" || value.size > 0);
  });
  const address = new URL(form.action).pathname + new URL(form.action).search;
  const sort = form.dataset.waits ?? "";
  const person = personOfPage();
  try {
    if (sort === "initial") {
      const there = await actsOf(person);
      if (there.some((act) => act.address === address && act.state !== "back"))
        return true;
    }
    const state = tried ? "tried" : "waits";
    const at = Date.now();
    await put({ person, item, called, sort, address, fields, at, state, reasons: [] });
    return true;
  } catch {
    return false;
  }
}

/** Give a form that stays a fresh act. @param {HTMLFormElement} form */
export function freshen(form) {
  const event = form.elements.namedItem("event");
  if (event instanceof HTMLInputElement) event.value = newEvent();
}
