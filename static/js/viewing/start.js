/**
 * Begins the page's modules, each named in a `data-start`, once its first pictures are
 * there: on a bad line they would share the line with them. What is pressed meanwhile
 * on a page marked `data-presses` is pressed again when its first module listens; what
 * does not come because the line broke is asked for when it is back.
 */

const LONGEST_MS = 15_000;
/** @type {HTMLElement[]} */
const pressed = [];

if (document.querySelector("[data-presses]"))
  document.addEventListener("click", hold, true);
await Promise.race([settled(document), late()]);
for (const root of document.querySelectorAll("[data-library]"))
  fetchEarly(root.getAttribute("data-library") ?? "");
for (const script of document.querySelectorAll("[data-start]"))
  for (const name of (script.getAttribute("data-start") ?? "").split(" "))
    await import(name).catch(() => again(name)).then(release, reportError);
document.documentElement.toggleAttribute("data-started", true);

export {};

/** @param {Event} event */
function hold(event) {
  const button = /** @type {Element} */ (event.target).closest("button[type=button]");
  if (button instanceof HTMLElement) pressed.push(button);
}

/** The first module came, and it listens. */
function release() {
  document.removeEventListener("click", hold, true);
  for (const button of pressed.splice(0)) if (button.isConnected) button.click();
}

/** Once more, when there is a line. @param {string} name */
async function again(name) {
  if (!navigator.onLine) await new Promise((then) => addEventListener("online", then));
  return import(name);
}

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
