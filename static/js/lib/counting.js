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

/**
 * How many decisions fell so far, in the sentence that the server tells too.
 *
 * @param {string[]} words the decision of each item of the list; empty where none fell
 */
export function counted(words) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const word of words) if (word) counts.set(word, (counts.get(word) ?? 0) + 1);
  if (counts.size === 0) return "Nothing is decided yet.";
  const told = [...counts].map(([word, count]) => `${count} ${word}`).join(", ");
  const left = words.filter((word) => !word).length;
  return left ? `${told}; ${left} still to come.` : `${told}.`;
}
