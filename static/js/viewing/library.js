/**
 * The deep-zoom library is large, so on a bad line the still pictures come first: it is
 * fetched once they are there, from the address in `data-library`.
 */

/** @param {HTMLElement} root holds the stills; resolves when the library is there */
export async function fetchLibrary(root) {
  await Promise.all([...root.querySelectorAll("img")].map(settled));
  if (Reflect.get(globalThis, "OpenSeadragon")) return;
  await new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = root.dataset.library ?? "";
    script.addEventListener("load", resolve);
    script.addEventListener("error", reject);
    document.head.append(script);
  });
}

/** @param {HTMLImageElement} still @returns {Promise<unknown>} */
function settled(still) {
  if (still.complete) return Promise.resolve();
  return new Promise((then) => {
    still.addEventListener("load", then, { once: true });
    still.addEventListener("error", then, { once: true });
  });
}
