// The state in the address: #set:ID.key=value&ID.key=value. It holds what
// differs from the author's values, and speaks for the whole page: what is not
// in it is as the author wrote it. Without #set: nothing is said.

import { bare } from "./values.js";

/** @typedef {import("./values.js").Texts} Texts */

/**
 * The values for each block, null where the address says nothing.
 * @param {string} hash
 * @returns {Map<string, Texts> | null}
 */
export function fromAddress(hash) {
  if (!hash.startsWith("#set:")) return null;
  /** @type {Map<string, Texts>} */
  const found = new Map();
  for (const pair of hash.slice(5).split("&")) {
    const parts = /^([^.=]+)\.([^=]+)=(.*)$/.exec(pair);
    if (!parts) continue;
    try {
      const [id, key, value] = parts.slice(1).map(decodeURIComponent);
      const values = found.get(id) ?? bare();
      values[key] = value;
      found.set(id, values);
    } catch { /* a broken escape: that one value is left out */ }
  }
  return found;
}

/**
 * The pairs of one block.
 * @param {string} id
 * @param {Texts} values
 */
export const toAddress = (id, values) => Object.entries(values)
  .map(([key, value]) => `${encodeURIComponent(id)}.${encodeURIComponent(key)}=${encodeURIComponent(value)}`);

/**
 * What follows the sign # for such pairs.
 * @param {string[]} pairs
 */
export const hashOf = (pairs) => "set:" + pairs.join("&");
