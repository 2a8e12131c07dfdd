import {
  asOf,
  filesOf,
  isKept,
  LONGEST_MS,
  lost,
  MOST_PAGES,
  MOST_PICTURES,
  meta,
  namedIn,
  pictureOf,
  titleOf,
} from "#lib/pocket.js";
import {
  age,
  drop,
  dropPage,
  empty,
  keep,
  kept,
  left,
  pages,
  pocketOf,
  put,
  reopened,
  shut,
  stamped,
} from "#outbox/pockets.js";

/**
 * The service worker: keeps the last seen pages and first pictures of one person, and
 * shows them when the line is down. With a line the board's own answer always wins.
 *
 * A pocket holds pages and pictures of whoever is signed in, and nobody else's is ever
 * there; `shell` holds our own static files. Without a line a page says as of when it
 * was kept.
 *
 * @typedef {{ waitUntil(done: Promise<unknown>): void, request: Request, data: Said,
 *   respondWith(answer: Promise<Response>): void }} Told
 * @typedef {{ ask: "keep", address: string, files: string[], pictures: string[] }
 *   | { ask: "rights", person: string, books: Record<string, string> }
 *   | { ask: "drop", book: string }} Said
 */

const SHELL = "shell";
const NO_LINE = "/waiting/no-line/";
const RIGHTS = "/pocket/rights.json";
const SLOW_MS = 9000;

// tsc reads our scripts as pages, which know no worker's scope.
const worker = /** @type {any} */ (self);

const on = (/** @type {string} */ what, /** @type {(told: Told) => void} */ then) =>
  worker.addEventListener(what, then);

on("install", (told) => told.waitUntil(begin()));
on("activate", (told) => told.waitUntil(tidy().then(() => worker.clients.claim())));
on("message", (told) => told.waitUntil(hear(told.data)));
on("fetch", (told) => {
  const { request } = told;
  const { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  if (request.method === "POST" && pathname === "/people/sign-out/")
    told.respondWith(leave(request));
  else if (request.method !== "GET") return;
  else if (pathname.startsWith("/static/")) told.respondWith(file(request));
  else if (pictureOf(pathname)) told.respondWith(picture(told));
  else if (request.mode === "navigate") told.respondWith(page(told));
});

async function begin() {
  await worker.skipWaiting();
  const answer = await fetch(NO_LINE, { cache: "no-store" });
  const shell = await caches.open(SHELL);
  const files = filesOf(await answer.clone().text());
  await Promise.all([shell.put(NO_LINE, answer), ...files.map(keepFile)]);
}

/** Files that no kept page names any more go. */
async function tidy() {
  await age(LONGEST_MS);
  const shell = await caches.open(SHELL);
  const texts = (await pages(isKept)).map(({ html }) => html);
  const none = await shell.match(NO_LINE);
  const named = new Set([...texts, (await none?.text()) ?? ""].flatMap(namedIn));
  for (const request of await shell.keys()) {
    const { pathname } = new URL(request.url);
    if (pathname !== NO_LINE && !named.has(pathname)) await shell.delete(request);
  }
}

/** @param {Said} said */
async function hear(said) {
  if (said.ask === "drop") await drop([said.book]);
  if (said.ask === "rights") await hold(said.person, said.books);
  if (said.ask !== "keep") return;
  // The first page came before the worker did, so it is asked for once more.
  await keepPage(said.address);
  await keepPage("/waiting/");
  await Promise.all(said.files.map(keepFile));
  for (const one of said.pictures) {
    const answer = await fetch(one).catch(() => null);
    if (answer) await keepPicture(new URL(one, location.origin).pathname, answer);
  }
}

/** Keep to what the person may see now. @param {string} person @param {Record<string, string>} books */
async function hold(person, books) {
  await empty(person);
  if (!person) return;
  await age(LONGEST_MS);
  const pocket = await pocketOf(person);
  const before = await pocket.match(RIGHTS);
  await drop(lost(before ? await before.json() : {}, books));
  await put(person, RIGHTS, Response.json(books));
}

/** A page by its line, or as it was kept. @param {Told} told */
async function page(told) {
  const { request } = told;
  const { pathname } = new URL(request.url);
  const asked = left();
  const old = isKept(pathname) ? await kept(request.url) : undefined;
  try {
    const answer = await inTime(fetch(request), old ? SLOW_MS : 0);
    told.waitUntil(notice(request.url, answer.clone(), asked));
    return answer;
  } catch {
    return old ? shown(old) : nothingKept();
  }
}

/** @param {Promise<Response>} answer @param {number} most 0 waits for ever @returns {Promise<Response>} */
function inTime(answer, most) {
  if (!most) return answer;
  const late = new Promise((_, reject) => setTimeout(reject, most));
  return /** @type {Promise<Response>} */ (Promise.race([answer, late]));
}

/**
 * Keep a page that came, drop one that is not open any more.
 *
 * @param {string} address @param {Response} answer
 * @param {number} asked how often somebody had left when it was asked for
 */
async function notice(address, answer, asked) {
  const { pathname } = new URL(address, location.origin);
  if ([403, 404, 410].includes(answer.status)) await dropPage(pathname);
  if (answer.status !== 200 || answer.redirected) return;
  if (!answer.headers.get("Content-Type")?.startsWith("text/html")) return;
  const html = await answer.text();
  const person = meta(html, "board-person");
  if (person && !reopened(asked)) return;
  if (person || pathname.startsWith("/people/")) await empty(person);
  if (!person || !isKept(pathname)) return;
  const policy = answer.headers.get("Content-Security-Policy") ?? "default-src 'none'";
  const page = stamped(html, meta(html, "board-book"), policy);
  await keep({ person, address, answer: page, most: MOST_PAGES, sort: isKept });
}

/** @param {Response} old */
async function shown(old) {
  const html = asOf(await old.text(), Number(old.headers.get("Board-Kept")));
  return new Response(html, { headers: old.headers });
}

/** What there is instead: the pages that were kept. */
async function nothingKept() {
  const list = (await pages(isKept))
    .map(({ address, html }) => `<li><a href="${address}">${titleOf(html)}</a></li>`)
    .reverse()
    .join("");
  return instead(list || "<li>nothing yet</li>");
}

/** @param {string} list @param {boolean} [leaving] */
async function instead(list, leaving = false) {
  const none = await (await caches.open(SHELL)).match(NO_LINE);
  if (!none) return Response.error();
  const html = (await none.text()).replace("<!--kept-->", list);
  const body = leaving ? html.replace(' data-leaving="no"', "") : html;
  return new Response(body, { headers: none.headers });
}

/** @param {string} address */
async function keepPage(address) {
  const asked = left();
  const answer = await fetch(address, { redirect: "manual" }).catch(() => null);
  if (!answer?.ok) return;
  const html = await answer.clone().text();
  await notice(address, answer, asked);
  await Promise.all(filesOf(html).map(keepFile));
}

/** @param {string} address */
async function keepFile(address) {
  await file(new Request(address)).catch(() => null);
}

/** Our own files never change under their names. @param {Request} request */
async function file(request) {
  const shell = await caches.open(SHELL);
  const old = await shell.match(request, { ignoreVary: true });
  if (old) return old;
  const answer = await fetch(request);
  if (answer.ok) await shell.put(request, answer.clone());
  return answer;
}

/** A picture by its line, else by the name it was kept under. @param {Told} told */
async function picture(told) {
  const { pathname } = new URL(told.request.url);
  try {
    const answer = await fetch(told.request);
    told.waitUntil(keepPicture(pathname, answer.clone()));
    return answer;
  } catch {
    const old = await kept(pictureOf(pathname)?.name ?? "");
    return old ?? Response.error();
  }
}

/** @param {string} path @param {Response} answer */
async function keepPicture(path, answer) {
  const told = pictureOf(path);
  if (!told || !answer.ok) return;
  const { person, name, book } = told;
  const picture = stamped(await answer.blob(), book);
  const sort = (/** @type {string} */ one) => one.endsWith(".picture");
  await keep({ person, address: name, answer: picture, most: MOST_PICTURES, sort });
}

/** Sign out: the pocket is emptied first, line or no line. @param {Request} request */
async function leave(request) {
  shut();
  await empty();
  return fetch(request).catch(() => instead("<li>nothing</li>", true));
}
