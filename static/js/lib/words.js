/**
 * Count words as a reader does: what stands between spaces and says something.
 * Hints in square brackets are not read aloud and do not count.
 * @param {string} text
 * @returns {number}
 */
export function countWords(text) {
  const said = text.replace(/\[[^[\]]*\]/g, " ");
  return said.split(/\s+/u).filter((part) => /[\p{L}\p{N}]/u.test(part)).length;
}
