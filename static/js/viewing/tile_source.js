import { sizesOf } from "#lib/levels.js";

/**
 * A laid picture as the server tells it; `tiles` is a signed address that runs out.
 *
 * @typedef {{ revision: string, width: number, height: number, tile: number,
 *   levels: number, tiles: string, until: number, small: string, medium: string,
 *   rect: import("#lib/sheet.js").Rect }} Picture
 * @typedef {typeof import("openseadragon")} Library
 */

/** The deep-zoom library, loaded by a plain script before the modules. */
export function library() {
  return /** @type {Library} */ (Reflect.get(globalThis, "OpenSeadragon"));
}

/**
 * The library would add a style block, which our policy forbids, unless it finds one. An
 * element of no known kind under the same name satisfies it.
 */
export function keepStylesOut() {
  const name = "data-openseadragon-mobile-css";
  if (document.querySelector(`style[${name}]`)) return;
  const none = document.createElementNS("urn:sheet-and-slip", "style");
  none.setAttribute(name, "true");
  document.head.append(none);
}

/**
 * Tell the deep-zoom library where each tile lies.
 *
 * The still picture, which the page shows anyway, is the lowest level, so that nothing
 * more is fetched before somebody looks closer. Tiles are asked for through a function:
 * a fresh signed address takes effect without opening the picture again; tiles are kept
 * by revision, not by address. The stored edge tiles are padded by repeating the last
 * pixels: the library draws only the part that is picture (`getTileBounds` with
 * `isSource`).
 *
 * @param {Picture} picture its addresses may be changed later
 */
export function tileSource(picture) {
  const { TileSource } = library();
  const sizes = sizesOf(picture);
  const source = new TileSource({
    width: picture.width,
    height: picture.height,
    tileSize: picture.tile,
    tileOverlap: 0,
    minLevel: 0,
    maxLevel: sizes.length - 1,
  });
  /** @param {number} level */
  const tile = (level) => sizes[level].tile;
  return Object.assign(source, {
    getLevelScale: (/** @type {number} */ level) => sizes[level].scale,
    getTileWidth: tile,
    getTileHeight: tile,
    getTileUrl: (
      /** @type {number} */ size,
      /** @type {number} */ column,
      /** @type {number} */ row,
    ) => {
      const { level } = sizes[size];
      if (level < 0) return () => picture.medium;
      return () => `${picture.tiles}${level}/${column}_${row}.jpg`;
    },
    getTileHashKey: (
      /** @type {number} */ size,
      /** @type {number} */ column,
      /** @type {number} */ row,
    ) => `${picture.revision}/${sizes[size].level}/${column}_${row}`,
  });
}
