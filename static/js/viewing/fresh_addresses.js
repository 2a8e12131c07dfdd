/**
 * Signed addresses run out after some minutes; fresh ones are fetched before they do.
 *
 * @typedef {import("#viewing/stand.js").Stand} Stand
 * @typedef {import("#viewing/tile_source.js").Picture} Picture
 */

const AHEAD_MS = 60_000;
const LEAST_MS = 5_000;

/**
 * Keep the pictures' addresses good for as long as the signal lasts; the view stays.
 *
 * @param {Stand} stand
 * @param {Picture[]} pictures changed in place
 * @param {string} address where fresh addresses are told
 * @param {AbortSignal} signal
 */
export function keepFresh(stand, pictures, address, signal) {
  let timer = 0;
  let asking = false;

  const ask = async (/** @type {boolean} */ missed) => {
    if (asking || signal.aborted) return;
    asking = true;
    try {
      const answer = await fetch(address, {
        headers: { Accept: "application/json" },
        signal,
      });
      if (answer.ok) take(pictures, await answer.json());
      if (answer.ok && missed) drawAgain(stand);
    } catch {
      // The line is down: the next round asks again.
    } finally {
      asking = false;
      plan();
    }
  };

  const plan = () => {
    clearTimeout(timer);
    if (signal.aborted) return;
    const until = Math.min(...pictures.map((picture) => picture.until * 1000));
    const wait = Math.max(LEAST_MS, until - Date.now() - AHEAD_MS);
    timer = window.setTimeout(() => ask(false), wait);
  };

  stand.viewer.addHandler("tile-load-failed", () => {
    if (pictures.some((picture) => picture.until * 1000 < Date.now() + LEAST_MS))
      ask(true);
  });
  signal.addEventListener("abort", () => clearTimeout(timer));
  plan();
}

/** @param {Picture[]} pictures @param {{ pictures: Picture[] }} told */
function take(pictures, told) {
  for (const picture of pictures) {
    const fresh = told.pictures.find((other) => other.revision === picture.revision);
    if (!fresh) continue;
    const { tiles, medium, small, until } = fresh;
    Object.assign(picture, { tiles, medium, small, until });
  }
}

/** Ask again for tiles that failed meanwhile. @param {Stand} stand */
function drawAgain(stand) {
  for (let index = 0; index < stand.viewer.world.getItemCount(); index += 1) {
    stand.viewer.world.getItemAt(index).reset();
  }
}
