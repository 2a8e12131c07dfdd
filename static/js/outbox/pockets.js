/**
 * The browser's caches of kept pages and pictures, one a person; read by the worker
 * alone, so it imports nothing.
 */

const POCKET = "pocket:";

let leavings = 0;
let open = true;

/** How often somebody left: to be asked before a page is fetched. */
export function left() {
  return leavings;
}

/** Somebody leaves: what is still under way is not kept any more. */
export function shut() {
  leavings += 1;
  open = false;
}

/** Keep again, for a page with a person that was fetched since. @param {number} asked */
export function reopened(asked) {
  open ||= asked === leavings;
  return asked === leavings;
}

/** @param {string} person */
export function pocketOf(person) {
  return caches.open(POCKET + person);
}

async function pockets() {
  const names = (await caches.keys()).filter((name) => name.startsWith(POCKET));
  return Promise.all(names.map((name) => caches.open(name)));
}

/** Take away everything kept for anybody but this person. @param {string} [person] */
export async function empty(person = "") {
  for (const name of await caches.keys())
    if (name.startsWith(POCKET) && name !== POCKET + person) await caches.delete(name);
}

/** @param {(path: string, kept: Response) => boolean} which */
async function remove(which) {
  for (const pocket of await pockets())
    for (const request of await pocket.keys()) {
      const found = await pocket.match(request);
      if (found && which(new URL(request.url).pathname, found))
        await pocket.delete(request);
    }
}

/** Drop what was kept of books, and the desk, which tells of all. @param {string[]} books */
export async function drop(books) {
  if (books.length === 0) return;
  await remove((_, { headers }) => {
    const book = headers.get("Board-Book");
    return book === "" || books.includes(book ?? " ");
  });
}

/** Drop what nobody looked at for too long. @param {number} longest in milliseconds */
export function age(longest) {
  return remove((_, { headers }) => {
    const at = headers.get("Board-Kept");
    return at !== null && Date.now() - Number(at) > longest;
  });
}

/** Drop one page, whatever revision of it was asked for. @param {string} path */
export function dropPage(path) {
  return remove((other) => other === path);
}

/**
 * Every kept page of a sort, oldest first.
 *
 * @param {(path: string) => boolean} which
 */
export async function pages(which) {
  const found = [];
  for (const pocket of await pockets())
    for (const request of await pocket.keys()) {
      const { pathname, search } = new URL(request.url);
      const kept = which(pathname) ? await pocket.match(request) : null;
      if (kept) found.push({ address: pathname + search, html: await kept.text() });
    }
  return found;
}

/** What was kept of an address; of a page another revision will do. @param {string} address */
export async function kept(address) {
  for (const pocket of await pockets()) {
    const found =
      (await pocket.match(address)) ??
      (await pocket.match(address, { ignoreSearch: true }));
    if (found) return found;
  }
}

/**
 * Put something into a person's pocket, unless somebody left, before or meanwhile; says
 * whether it lies there.
 *
 * @param {string} person @param {string} address @param {Response} answer
 */
export async function put(person, address, answer) {
  if (!open) return false;
  const pocket = await pocketOf(person);
  await pocket.delete(address);
  await pocket.put(address, answer);
  if (!open) await empty();
  return open;
}

/**
 * Keep something for a person; beyond `most` of its sort the oldest go.
 *
 * @param {{ person: string, address: string, answer: Response, most: number,
 *   sort(path: string): boolean }} told
 */
export async function keep({ person, address, answer, most, sort }) {
  if (!(await put(person, address, answer))) return;
  const pocket = await pocketOf(person);
  const all = (await pocket.keys()).filter(({ url }) => sort(new URL(url).pathname));
  for (const old of all.slice(0, Math.max(0, all.length - most)))
    await pocket.delete(old);
}

/**
 * Something to be kept, with its book and the moment.
 *
 * @param {BodyInit} body
 * @param {string} book
 * @param {string} [policy] a page's content policy; its nonce belongs to its text
 */
export function stamped(body, book, policy) {
  /** @type {Record<string, string>} */
  const headers = { "Board-Book": book, "Board-Kept": String(Date.now()) };
  const image = body instanceof Blob && body.type ? body.type : "image/jpeg";
  headers["Content-Type"] = policy ? "text/html; charset=utf-8" : image;
  if (policy) headers["Content-Security-Policy"] = policy;
  return new Response(body, { headers });
}
