// Values of a form by name: texts, and rows of cells.

import { isCells } from "./cells.js";

/** @typedef {import("./cells.js").Cells} Cells */
/** @typedef {Record<string, string | Cells>} Values */
/** @typedef {Record<string, string>} Texts */

/**
 * An object with nothing of its own but what is put there: names that come with
 * an address or from the device can then reach no property of the language.
 * @template T
 * @param {Iterable<readonly [string, T]>} [entries]
 * @returns {Record<string, T>}
 */
export const bare = (entries = []) => Object.assign(Object.create(null), Object.fromEntries(entries));

/**
 * What can be a form's values of whatever was kept or came with an address.
 * @param {unknown} given
 * @returns {Values}
 */
export function clean(given) {
  const entries = typeof given === "object" && given && !Array.isArray(given) ? Object.entries(given) : [];
  /** @type {Values} */
  const values = bare();
  for (const [key, value] of entries) {
    if (key === "__proto__") continue;
    // The core is handed lines of key=value: a line's end would begin another.
    if (typeof value === "string") values[key] = value.replace(/[\n\r\u2028\u2029]+/g, " ");
    else if (isCells(value)) values[key] = value;
  }
  return values;
}

/**
 * What differs from the author's values, blanks included.
 * @param {Values} now
 * @param {Values} author
 * @returns {Values}
 */
export const differences = (now, author) => bare(Object.entries(now)
  .filter(([name, value]) => JSON.stringify(value) !== JSON.stringify(author[name])));
