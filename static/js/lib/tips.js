/**
 * A pencil tip between messages: drawn a moment late, so that it moves evenly.
 *
 * @typedef {{ at: number, x: number, y: number }} Sample at: milliseconds
 */

/** How late it is drawn: a little more than the time between two messages. */
export const LATE_MS = 120;
/** A tip that has not moved for so long is lifted off. */
export const LIFTED_MS = 4000;
const KEPT = 12;
const JUMP_MS = 600;

/** @param {Sample[]} samples @param {Sample} sample @returns {Sample[]} */
export function heard(samples, sample) {
  const last = samples.at(-1);
  // After a pause the tip rests where it was until just before it moves again.
  const rest =
    last && sample.at - last.at > JUMP_MS ? [{ ...last, at: sample.at - LATE_MS }] : [];
  return [...samples, ...rest, sample].slice(-KEPT);
}

/**
 * Where the tip is drawn at a moment, or null when it is lifted off.
 *
 * @param {Sample[]} samples
 * @param {number} now milliseconds
 * @returns {{ x: number, y: number } | null}
 */
export function drawnAt(samples, now) {
  const last = samples.at(-1);
  if (!last || now - last.at > LIFTED_MS) return null;
  const moment = now - LATE_MS;
  const next = samples.findIndex((sample) => sample.at >= moment);
  if (next < 0) return { x: last.x, y: last.y };
  if (next === 0) return { x: samples[0].x, y: samples[0].y };
  const [from, to] = [samples[next - 1], samples[next]];
  const part = to.at === from.at ? 1 : (moment - from.at) / (to.at - from.at);
  return { x: from.x + (to.x - from.x) * part, y: from.y + (to.y - from.y) * part };
}

/**
 * Whether one more message may be sent: so many a second and no more.
 *
 * @param {number} now milliseconds
 * @param {number} before when the last one was sent
 */
export function maySend(now, before) {
  return now - before >= 100;
}
