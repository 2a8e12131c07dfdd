/**
 * A look at the light table, as an address: the same address gives the same look.
 *
 * @typedef {{ before: string, after: string, view: string, x: number, y: number,
 *   zoom: number, over: number, edge: number, change: string }} Look
 */

export const VIEWS = ["lay-over", "slide", "lift", "side-by-side", "change-map"];

/** @param {string} search the part of an address after ? @returns {Look} */
export function readLook(search) {
  const asked = new URLSearchParams(search);
  const number = (/** @type {string} */ name, /** @type {number} */ otherwise) => {
    const text = asked.get(name);
    const value = text ? Number(text) : Number.NaN;
    return Number.isFinite(value) ? value : otherwise;
  };
  const view = asked.get("view") ?? "";
  return {
    before: asked.get("before") ?? "",
    after: asked.get("after") ?? "",
    view: VIEWS.includes(view) ? view : VIEWS[0],
    x: number("x", 0.5),
    y: number("y", 0.5),
    zoom: Math.max(0, number("zoom", 0)),
    over: within(number("over", 50), 0, 100),
    edge: within(number("edge", 50), 0, 100),
    change: asked.get("change") ?? "",
  };
}

/** @param {Look} look @returns {string} */
export function writeLook(look) {
  const told = new URLSearchParams({
    before: look.before,
    after: look.after,
    view: look.view,
  });
  if (look.zoom > 0) {
    told.set("x", look.x.toFixed(4));
    told.set("y", look.y.toFixed(4));
    told.set("zoom", look.zoom.toFixed(3));
  }
  if (look.view === "lay-over") told.set("over", String(Math.round(look.over)));
  if (look.view === "slide") told.set("edge", String(Math.round(look.edge)));
  if (look.change) told.set("change", look.change);
  return `?${told}`;
}

/** @param {number} value @param {number} least @param {number} most */
export function within(value, least, most) {
  return Math.min(Math.max(value, least), most);
}
