/**
 * What the line tells is drawn at once: a note's row, a decision, the line of initials.
 *
 * @typedef {Record<string, any>} Told
 */

/** @param {string} tag @param {string} className @param {string} [text] */
function made(tag, className, text = "") {
  const element = document.createElement(tag);
  element.className = className;
  element.textContent = text;
  return element;
}

/** A note's row as the server draws it. @param {Told} note @param {string} room its address */
export function noteRow(note, room) {
  const row = made("li", `note note-${note.sort}`);
  row.id = `note-${note.key}`;
  row.tabIndex = -1;
  for (const name of ["key", "sort", "mark", "points", "label", "hue", "line"])
    row.dataset[name] = note[name];
  const side = made("p", "note-side");
  const label = made(
    "a",
    `note-label initials pencil-${note.hue} initials-${note.line}`,
    note.label,
  );
  label.setAttribute("href", `${room}#note-${note.key}`);
  label.setAttribute("data-pick", note.key);
  label.title = note.name;
  side.append(label, " ", made("span", "note-class", note.sort));
  const body = made("div", "note-body");
  const words = made("p", "note-words", note.words);
  words.dir = "auto";
  words.setAttribute("data-words", "");
  body.append(words);
  row.append(side, body);
  return row;
}

/** @param {Told} told an event of a decision */
export function decisionLine(told) {
  const line = made("p", "decision-line");
  const time = new Date(told.at).toLocaleTimeString("en-GB", {
    hour: "2-digit",
    minute: "2-digit",
  });
  line.append(made("b", "decision-word", told.word));
  line.append(`, ruled by ${told.ruled_by}, ${time}`);
  if (told.remark) {
    const remark = made("span", "", told.remark);
    remark.dir = "auto";
    line.append(": ", remark);
  }
  return line;
}

/** @param {Told[]} seats @param {string} chair the chair's key */
export function initialsLine(seats, chair) {
  return seats.flatMap((seat) => {
    const one = made(
      "abbr",
      `initials pencil-${seat.hue} initials-${seat.line}`,
      seat.initials,
    );
    const how =
      seat.key === chair ? "has the chair" : seat.follows ? "follows" : "looks alone";
    one.title = `${seat.name}: ${how}`;
    one.dataset.seat = seat.key;
    if (seat.key !== chair && !seat.follows) one.classList.add("is-apart");
    return seat.key === chair ? [one, made("span", "soft", " (chair) ")] : [one, " "];
  });
}
