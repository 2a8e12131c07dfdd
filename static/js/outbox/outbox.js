/**
 * The outbox: acts written without a line, kept in the browser until the board has them.
 *
 * `waits` was never sent; `tried` was sent without an answer, so the board may have it
 * and its words stay as they are; `back` is what the board would not take, with why.
 *
 * @typedef {"waits" | "tried" | "back"} State
 * @typedef {{ id: number, person: string, item: string, called: string, sort: string,
 *   address: string, fields: [string, FormDataEntryValue][], at: number, state: State,
 *   reasons: string[] }} Act
 */

const NAME = "board-outbox";
const ACTS = "acts";

/** @returns {Promise<IDBDatabase>} */
function opened() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      const acts = asked.result.createObjectStore(ACTS, {
        keyPath: "id",
        autoIncrement: true,
      });
      acts.createIndex("person", "person");
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

/**
 * Do something with the acts in one transaction; what it leaves in `told` comes back.
 *
 * @template T
 * @param {IDBTransactionMode} mode
 * @param {(acts: IDBObjectStore, tell: (told: T) => void) => void} work
 * @returns {Promise<T>}
 */
async function within(mode, work) {
  const base = await opened();
  return new Promise((resolve, reject) => {
    /** @type {T} */
    let told;
    const step = base.transaction(ACTS, mode, { durability: "strict" });
    step.oncomplete = () => {
      base.close();
      resolve(told);
    };
    step.onabort = () => {
      base.close();
      reject(step.error);
    };
    work(step.objectStore(ACTS), (one) => {
      told = one;
    });
  });
}

/** Tell this page and the other tabs that something changed here. */
function changed() {
  document.dispatchEvent(new CustomEvent("board:outbox"));
  const line = new BroadcastChannel(NAME);
  line.postMessage("changed");
  line.close();
}

/** @param {() => void} then @param {AbortSignal} signal told here and in other tabs */
export function onChange(then, signal) {
  const line = new BroadcastChannel(NAME);
  line.addEventListener("message", then, { signal });
  document.addEventListener("board:outbox", then, { signal });
  signal.addEventListener("abort", () => line.close());
}

/** @param {Omit<Act, "id">} act */
export async function put(act) {
  await within("readwrite", (acts) => acts.add(act));
  changed();
}

/** A person's acts, in the order they were written; nobody else's. @param {string} person @returns {Promise<Act[]>} */
export function actsOf(person) {
  return within("readonly", (acts, tell) => {
    const asked = acts.index("person").getAll(person);
    asked.onsuccess = () => tell(asked.result);
  });
}

/**
 * Change an act where it stands, unless another tab was faster.
 *
 * @param {number} id
 * @param {State[]} from the states it may be changed in
 * @param {Partial<Act>} to
 * @returns {Promise<boolean>} whether it was
 */
export async function change(id, from, to) {
  const done = await within("readwrite", (acts, tell) => {
    const asked = acts.get(id);
    asked.onsuccess = () => {
      const fits = asked.result && from.includes(asked.result.state);
      if (fits) acts.put({ ...asked.result, ...to });
      tell(Boolean(fits));
    };
  });
  if (done) changed();
  return Boolean(done);
}

/** @param {number} id */
export async function remove(id) {
  await within("readwrite", (acts) => acts.delete(id));
  changed();
}

/** A fresh id of an act. */
export function newEvent() {
  const bytes = crypto.getRandomValues(new Uint8Array(15));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The same fields under a fresh id, or with other words. @param {Act["fields"]} fields @param {Record<string, string>} to @returns {Act["fields"]} */
export function withFields(fields, to) {
  return fields.map(([name, value]) => [name, to[name] ?? value]);
}
