/** Going through a list one by one, round and round. */

/**
 * @param {string[]} keys in the order they are read
 * @param {string} current a key, or nothing before the first step
 * @param {number} step 1 forward, -1 back
 * @returns {string} the next key, "" when the list is empty
 */
export function stepFrom(keys, current, step) {
  if (keys.length === 0) return "";
  const at = keys.indexOf(current);
  if (at < 0) return step > 0 ? keys[0] : keys[keys.length - 1];
  return keys[(at + step + keys.length) % keys.length];
}
