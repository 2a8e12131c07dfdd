/**
 * The deep-zoom library is large, so it is no part of the page's modules: it is fetched
 * from the address in `data-library` when a picture asks for it.
 */

/** @param {HTMLElement} root resolves when the library is there */
export async function fetchLibrary(root) {
  if (Reflect.get(globalThis, "OpenSeadragon")) return;
  await new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = root.dataset.library ?? "";
    script.addEventListener("load", resolve);
    script.addEventListener("error", reject);
    document.head.append(script);
  });
}
