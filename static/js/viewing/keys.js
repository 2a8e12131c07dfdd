/**
 * Single keys, only while the keyboard is on the picture or the note sheet and never
 * while somebody types (WCAG 2.2, success criterion 2.1.4).
 */

const TYPING = "input, textarea, select, [contenteditable]";

/**
 * @param {HTMLElement} root
 * @param {string} within where the keys work, a selector
 * @param {Record<string, () => void>} acts by key
 * @param {AbortSignal} signal
 * @param {(event: KeyboardEvent) => boolean} [first] asked before the acts
 */
export function onKeys(root, within, acts, signal, first = () => false) {
  root.addEventListener(
    "keydown",
    (event) => {
      const target = /** @type {Element} */ (event.target);
      if (target.matches(TYPING) || !target.closest(within)) return;
      if (first(event)) {
        event.preventDefault();
        return;
      }
      const act = isFree(event, target) ? acts[event.key] : undefined;
      if (!act) return;
      event.preventDefault();
      act();
    },
    { signal },
  );
}

/** Whether the browser needs the key for nothing else. @param {KeyboardEvent} event @param {Element} target */
function isFree(event, target) {
  if (event.ctrlKey || event.metaKey || event.altKey) return false;
  const onPicture = target.closest("board-picture, board-table");
  return Boolean(onPicture) || !event.key.startsWith("Arrow");
}

/** The keys that move the view. @param {() => import("#viewing/stand.js").Stand | null} standing */
export function lookingKeys(standing) {
  return {
    "+": () => standing()?.closer(),
    "=": () => standing()?.closer(),
    "-": () => standing()?.further(),
    w: () => standing()?.wholeSheet(),
    p: () => standing()?.pageWidth(),
    a: () => standing()?.actualPixels(),
    ArrowLeft: () => standing()?.pan(-1, 0),
    ArrowRight: () => standing()?.pan(1, 0),
    ArrowUp: () => standing()?.pan(0, -1),
    ArrowDown: () => standing()?.pan(0, 1),
  };
}

/**
 * The word controls: buttons that name what they do in `data-look`.
 *
 * @param {HTMLElement} root
 * @param {() => import("#viewing/stand.js").Stand | null} standing
 * @param {AbortSignal} signal
 */
export function onWords(root, standing, signal) {
  const ways = {
    closer: () => standing()?.closer(),
    further: () => standing()?.further(),
    whole: () => standing()?.wholeSheet(),
    page: () => standing()?.pageWidth(),
    pixels: () => standing()?.actualPixels(),
  };
  root.addEventListener(
    "click",
    (event) => {
      const button = /** @type {Element} */ (event.target).closest("[data-look]");
      const way = button?.getAttribute("data-look") ?? "";
      if (way in ways) ways[/** @type {keyof typeof ways} */ (way)]();
    },
    { signal },
  );
}
