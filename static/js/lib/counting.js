/**
 * Events counted for one reader: each once, in order, and no gap unnoticed.
 *
 * @param {number} last the number of the last event that was taken
 * @param {number} number the number of one that came
 * @returns {"take" | "drop" | "ask"}
 */
export function weigh(last, number) {
  if (number <= last) return "drop";
  return number === last + 1 ? "take" : "ask";
}
