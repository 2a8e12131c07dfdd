import { personOfPage } from "#outbox/aside.js";

/**
 * Typed words are kept in the browser until the server has them.
 *
 * A form with `data-keep` names the place they are kept under; only text fields and
 * choices are kept, never the hidden ones. They are their writer's: the next one to sign in here does
 * not find them.
 */

const PREFIX = "board:words:";
const SKIPPED = new Set(["hidden", "submit", "button", "password"]);

/** @param {HTMLFormElement} form */
function nameOf(form) {
  return `${PREFIX}${personOfPage()}:${form.dataset.keep}`;
}

/** @param {HTMLFormElement} form */
function fieldsOf(form) {
  return [...form.elements].filter(
    (field) =>
      (field instanceof HTMLInputElement && !SKIPPED.has(field.type)) ||
      field instanceof HTMLTextAreaElement ||
      field instanceof HTMLSelectElement,
  );
}

/** Remember what stands in the form now. @param {HTMLFormElement} form */
export function keep(form) {
  const kept = [...new FormData(form)].filter(
    ([name, value]) =>
      typeof value === "string" &&
      fieldsOf(form).some((field) => field.getAttribute("name") === name),
  );
  const typed = kept.some(
    ([name, value]) =>
      form.elements.namedItem(name) instanceof HTMLTextAreaElement && value,
  );
  try {
    if (typed) localStorage.setItem(nameOf(form), JSON.stringify(kept));
    else localStorage.removeItem(nameOf(form));
  } catch {
    // A full or closed store: the words still stand in the form.
  }
}

/** The server has them now. @param {HTMLFormElement} form */
export function forget(form) {
  try {
    localStorage.removeItem(nameOf(form));
  } catch {
    // Nothing was kept.
  }
}

/** Put kept words back into a form that is still empty. @param {HTMLFormElement} form @returns {boolean} */
export function putBack(form) {
  const kept = read(form);
  if (kept.length === 0) return false;
  const words = [...form.elements].filter((one) => one instanceof HTMLTextAreaElement);
  if (words.some((area) => area.value && area.value !== area.defaultValue))
    return false;
  const ticked = new Set(kept.map(([name, value]) => `${name}=${value}`));
  for (const field of fieldsOf(form)) {
    const name = field.getAttribute("name") ?? "";
    if (field instanceof HTMLInputElement && ["radio", "checkbox"].includes(field.type))
      field.checked = ticked.has(`${name}=${field.value}`);
    else {
      const value = kept.find(([other]) => other === name)?.[1];
      if (value !== undefined) Reflect.set(field, "value", value);
    }
  }
  return true;
}

/** @param {HTMLFormElement} form @returns {[string, string][]} */
function read(form) {
  try {
    return JSON.parse(localStorage.getItem(nameOf(form)) ?? "[]");
  } catch {
    return [];
  }
}
