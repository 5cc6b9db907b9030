// Where runs are kept on the device: IndexedDB, each change at once. Where the
// browser gives none (some private windows), they live as long as the page.

import { root } from "./page.js";

/** @typedef {import("./readings-file.js").Run} Run */

const NAME = "forerun readings " + root.pathname;

/** @type {Promise<IDBDatabase | null> | undefined} */
let opening;
/** @type {Map<string, Run>} */
const here = new Map();

/** @returns {Promise<IDBDatabase | null>} null where the browser keeps nothing */
function open() {
  opening ??= new Promise((done) => {
    try {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => { asked.result.createObjectStore("runs", { keyPath: "id" }); };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => done(null);
    } catch { done(null); }
  });
  return opening;
}

/** Whether runs outlive the page. */
export const outlives = async () => Boolean(await open());

/**
 * One transaction on the runs, done when it is on the device.
 * @template T
 * @param {IDBTransactionMode} mode
 * @param {(store: IDBObjectStore) => IDBRequest<T>} ask
 * @returns {Promise<T | undefined>}
 */
async function ask(mode, ask) {
  const db = await open();
  if (!db) return undefined;
  return new Promise((done, failed) => {
    const change = db.transaction("runs", mode, { durability: "strict" });
    const request = ask(change.objectStore("runs"));
    change.oncomplete = () => done(request.result);
    change.onabort = change.onerror = () => failed(change.error ?? request.error);
  });
}

/**
 * The runs of one block, the newest first.
 * @param {string} page
 * @param {string} block
 */
export async function runsOf(page, block) {
  /** @type {Run[]} */
  const all = await ask("readonly", (store) => store.getAll()) ?? [...here.values()];
  return all.filter((run) => run.page === page && run.block === block).sort((a, b) => b.begun.localeCompare(a.begun));
}

/** @param {Run} run */
export async function putRun(run) {
  here.set(run.id, structuredClone(run));
  await ask("readwrite", (store) => store.put(run));
}

/** @param {string} id */
export async function dropRun(id) {
  here.delete(id);
  await ask("readwrite", (store) => store.delete(id));
}

/**
 * Changes a run as it stands on the device: another page may have changed it meanwhile.
 * @param {string} id
 * @param {(run: Run) => void} change
 * @returns {Promise<Run | undefined>}
 */
export async function changeRun(id, change) {
  const db = await open();
  if (!db) {
    const run = here.get(id);
    if (run) change(run);
    return run && structuredClone(run);
  }
  return new Promise((done, failed) => {
    const whole = db.transaction("runs", "readwrite", { durability: "strict" }), store = whole.objectStore("runs");
    /** @type {Run | undefined} */
    let run;
    const asked = store.get(id);
    asked.onsuccess = () => {
      run = asked.result;
      if (!run) return;
      change(run);
      store.put(run);
    };
    whole.oncomplete = () => done(run);
    whole.onabort = whole.onerror = () => failed(whole.error);
  });
}

/** Asks the browser not to clear the runs when the device runs short. */
export const askToKeep = async () => Boolean(await navigator.storage?.persist?.().catch(() => false));
