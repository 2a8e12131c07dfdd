/**
 * Which upload a file belongs to, kept in this browser so that a reload or a closed
 * lid does not lose what was sent. A file is known by name, size and last change.
 *
 * @typedef {Pick<Storage, "getItem" | "setItem" | "removeItem">} Shelf
 * @typedef {{ name: string, size: number, lastModified: number }} Known
 */

const PREFIX = "board-upload:";

/** @param {string} book @param {Known} file */
export function fingerprint(book, file) {
  return `${PREFIX}${book}:${file.size}:${file.lastModified}:${file.name}`;
}

/** @param {Shelf} shelf @param {string} book @param {Known} file */
export function recall(shelf, book, file) {
  try {
    return shelf.getItem(fingerprint(book, file)) ?? "";
  } catch {
    return "";
  }
}

/**
 * @param {Shelf} shelf
 * @param {string} book
 * @param {Known} file
 * @param {string} key the upload's key; empty forgets it
 */
export function remember(shelf, book, file, key) {
  try {
    if (key) shelf.setItem(fingerprint(book, file), key);
    else shelf.removeItem(fingerprint(book, file));
  } catch {
    // A private window without storage: the server's list still tells what is here.
  }
}
