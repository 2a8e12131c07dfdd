/**
 * The rows of fields that are sent: which item each frame is, and its corners in per cent.
 *
 * @typedef {import("#lib/frames.js").Frame} Frame
 */

const CORNERS = [0, 1, 2, 3];

/** @param {Element} root */
export function rowsOf(root) {
  return /** @type {HTMLElement[]} */ ([...root.querySelectorAll(".cut-row")]);
}

/** @param {Element} row */
function numbersIn(row) {
  return /** @type {HTMLInputElement[]} */ ([
    ...row.querySelectorAll("input[type=number]"),
  ]);
}

/** Whether the row of a field has all its numbers. @param {EventTarget | null} field */
export function isWhole(field) {
  const row = field instanceof Element ? field.closest(".cut-row") : null;
  return !row || numbersIn(row).every((number) => number.value !== "");
}

/** The frames as the fields say, those lacking a number left out. @param {Element} root @returns {Frame[]} */
export function framesIn(root) {
  return rowsOf(root)
    .filter((row) => isWhole(row))
    .map((row) => {
      const values = numbersIn(row).map((field) => Number(field.value) / 100);
      return {
        item: row.querySelector("select")?.value ?? "",
        corners: CORNERS.map((at) => ({ x: values[2 * at], y: values[2 * at + 1] })),
      };
    });
}

/** Write the frames into the fields; false when there is no room for all. @param {Element} root @param {Frame[]} frames */
export function writeFrames(root, frames) {
  let room = true;
  while (room && rowsOf(root).length < frames.length) room = addRow(root);
  for (const [at, row] of rowsOf(root).entries()) writeRow(row, frames[at]);
  return room;
}

/** @param {Element} row @param {Frame | undefined} frame */
function writeRow(row, frame) {
  const select = row.querySelector("select");
  if (select) select.value = frame?.item ?? "";
  const flat = (frame?.corners ?? []).flatMap((corner) => [corner.x, corner.y]);
  for (const [n, field] of numbersIn(row).entries())
    field.value = flat.length ? (flat[n] * 100).toFixed(3) : "";
}

/** One more row like the last, counted on. @param {Element} root */
function addRow(root) {
  const rows = rowsOf(root);
  const total = root.querySelector("[name=frame-TOTAL_FORMS]");
  const most = root.querySelector("[name=frame-MAX_NUM_FORMS]");
  if (!(total instanceof HTMLInputElement && most instanceof HTMLInputElement))
    return false;
  if (rows.length >= Number(most.value)) return false;
  const row = /** @type {HTMLElement} */ (rows[rows.length - 1].cloneNode(true));
  for (const part of row.querySelectorAll("[name], [id], [for]"))
    for (const name of ["name", "id", "for"]) {
      const value = part.getAttribute(name);
      if (value)
        part.setAttribute(name, value.replace(/frame-\d+-/, `frame-${rows.length}-`));
    }
  for (const wrong of row.querySelectorAll(".field-wrong")) wrong.remove();
  for (const said of row.querySelectorAll(".cut-number, .unseen"))
    said.textContent = (said.textContent ?? "").replace(/\d+/, `${rows.length + 1}`);
  rows[rows.length - 1].after(row);
  total.value = String(rows.length + 1);
  return true;
}
