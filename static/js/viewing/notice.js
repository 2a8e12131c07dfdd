/** A slip of paper at the foot of the page that says what happened. */

/**
 * @param {HTMLElement} root holds `[data-notice]` with `[data-notice-words]`
 * @returns {(words: string, wrong?: boolean) => void}
 */
export function noticeIn(root) {
  let timer = 0;
  return (words, wrong = false) => {
    const slip = root.querySelector("[data-notice]");
    const place = slip?.querySelector("[data-notice-words]");
    if (!(slip instanceof HTMLElement) || !place) return;
    slip.classList.toggle("is-wrong", wrong);
    slip.classList.add("is-up");
    place.textContent = words;
    clearTimeout(timer);
    if (!wrong) timer = window.setTimeout(() => slip.classList.remove("is-up"), 6000);
  };
}
