/**
 * Begins the page's modules, each named in a `data-start`, once its first pictures are
 * there: on a bad line they would share the line with them.
 */

const LONGEST_MS = 15_000;

await Promise.race([settled(document), late()]);
for (const root of document.querySelectorAll("[data-library]"))
  fetchEarly(root.getAttribute("data-library") ?? "");
for (const script of document.querySelectorAll("[data-start]"))
  for (const name of (script.getAttribute("data-start") ?? "").split(" "))
    await import(name).catch(reportError);
document.documentElement.toggleAttribute("data-started", true);

export {};

/** Resolves when the first pictures have come or failed. @param {ParentNode} root */
function settled(root) {
  return Promise.all([...root.querySelectorAll("img[fetchpriority=high]")].map(one));
}

/** @param {Element} image @returns {Promise<unknown>} */
function one(image) {
  if (!(image instanceof HTMLImageElement) || image.complete) return Promise.resolve();
  return new Promise((then) => {
    image.addEventListener("load", then, { once: true });
    image.addEventListener("error", then, { once: true });
  });
}

/** A picture that hangs holds up nobody for ever. */
function late() {
  return new Promise((then) => setTimeout(then, LONGEST_MS));
}

/** The deep-zoom library need not wait for the modules that ask for it. @param {string} address */
function fetchEarly(address) {
  const link = document.createElement("link");
  Object.assign(link, { rel: "preload", as: "script", href: address });
  document.head.append(link);
}
