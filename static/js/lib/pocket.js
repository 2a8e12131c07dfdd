/**
 * The pocket: what a browser keeps of the board for reading without a line.
 *
 * Plain arithmetic on addresses and texts; also read by the worker, so it imports
 * nothing.
 */

export const MOST_PAGES = 16;
export const MOST_PICTURES = 60;
export const LONGEST_MS = 14 * 24 * 60 * 60 * 1000;

const KEPT = /^\/(?:waiting\/|wall\/[\w-]+\/|rooms\/[\w-]+\/|letters\/[\w-]+\/)?$/;
const PICTURE =
  /^\/t\/\d+\/([^/:]+):([^/:]+)\/[^/]+\/([^/]+)\/(small|medium)\.(?:webp|jpg)$/;

/** Whether a page is one that is kept: desk, walls, rooms, letters, what waits. @param {string} path */
export function isKept(path) {
  return KEPT.test(path);
}

/**
 * The name a picture is kept under: its signed address runs out, its bytes stay the
 * same.
 *
 * @param {string} path
 * @returns {{ book: string, person: string, name: string } | null}
 */
export function pictureOf(path) {
  const found = PICTURE.exec(path);
  if (!found) return null;
  const [, book, person, key, size] = found;
  return { book, person, name: `/pocket/${book}/${key}/${size}.picture` };
}

/** What a page says of itself in a meta element. @param {string} html @param {string} name */
export function meta(html, name) {
  return new RegExp(`<meta name="${name}" content="([\\w-]*)">`).exec(html)?.[1] ?? "";
}

/** @param {string} html */
export function titleOf(html) {
  return /<title>([^<]*)<\/title>/.exec(html)?.[1]?.split(" | ")[0]?.trim() ?? "";
}

/** Files of ours that a page asks for by itself. @param {string} html @returns {string[]} */
export function filesOf(html) {
  const named = html.matchAll(/(?:src|href|data-library)="(\/static\/[^"]+)"/g);
  const mapped = html.matchAll(/"#(?:outbox|lib)\/[\w/]+\.js":"(\/static\/[^"]+)"/g);
  return [...new Set([...named, ...mapped].map((found) => found[1]))];
}

/** Every file of ours that a page could ask for, its import map's included. @param {string} html */
export function namedIn(html) {
  return [...html.matchAll(/"(\/static\/[^"]+)"/g)].map((found) => found[1]);
}

/** The same page, told when it was kept. @param {string} html @param {number} at */
export function asOf(html, at) {
  return html.replace("<board-line ", `<board-line data-as-of="${at}" `);
}

/**
 * The books of which everything kept is dropped: gone, or seen with other credits.
 *
 * @param {Record<string, string>} before credits by book, in words
 * @param {Record<string, string>} now
 * @returns {string[]}
 */
export function lost(before, now) {
  return Object.keys(before).filter((book) => before[book] !== now[book]);
}

/**
 * A moment in words: the hour today, else the day too.
 *
 * @param {number} at
 * @param {Date} now
 * @param {string} [language]
 */
export function momentWords(at, now, language) {
  const then = new Date(at);
  const hour = then.toLocaleTimeString(language, {
    hour: "2-digit",
    minute: "2-digit",
  });
  if (then.toDateString() === now.toDateString()) return hour;
  const day = then.toLocaleDateString(language, { day: "numeric", month: "long" });
  return `${day}, ${hour}`;
}
