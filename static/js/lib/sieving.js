/**
 * Which notes are shown: by class, person, open or ended, and the revision made on.
 *
 * @typedef {{ sort: string, by: string, ended: boolean, made: string }} Sifted
 * @typedef {{ sort: string, by: string, state: string, made: string }} Sieve empty
 *   strings let everything through; `state` is "", "open" or "ended"
 */

/** @param {Sifted} note @param {Sieve} sieve */
export function passes(note, { sort, by, state, made }) {
  return (
    (!sort || note.sort === sort) &&
    (!by || note.by === by) &&
    (!made || note.made === made) &&
    (!state || (state === "ended") === note.ended)
  );
}

/** What can be chosen, each once, in the order it comes. @param {Sifted[]} notes */
export function choicesOf(notes) {
  const once = (/** @type {string[]} */ values) => [...new Set(values)];
  return {
    sort: once(notes.map((note) => note.sort)),
    by: once(notes.map((note) => note.by)).toSorted(),
    made: once(notes.map((note) => note.made)).toSorted(),
  };
}

/** @param {number} shown @param {number} all */
export function told(shown, all) {
  if (shown === all) return all === 1 ? "One note." : `All ${all} notes.`;
  return `${shown} of ${all} notes.`;
}
