// Words, and how like two of them are.

/** @param {string} text */
const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();

/**
 * The words of a text, without accents and capitals.
 * @param {string} text
 * @returns {string[]}
 */
export const words = (text) => plain(text).match(/[\p{L}\p{N}]+/gu) ?? [];

/**
 * The same, but what holds a digit stays whole: `108-88-3`, `24/29`, `propan-1-ol`.
 * @param {string} text
 * @returns {string[]}
 */
export const tokens = (text) => (plain(text).match(/[\p{L}\p{N}]+(?:[-\/,.][\p{L}\p{N}]+)*/gu) ?? [])
  .flatMap((token) => /\d/.test(token) ? token : words(token));

/**
 * A word without its ending, so that distil, distilling and distillation are one.
 * Rough on purpose: it need not be a word, only the same for all of them.
 * @param {string} word
 */
export function stem(word) {
  if (word.length < 4 || /\d/.test(word)) return word;
  const single = word.replace(/ies$/, "y").replace(/(ss|x|z|ch|sh)es$/, "$1").replace(/([^siu])s$/, "$1").replace(/([iy])z/g, "$1s");
  const bare = single.replace(/ied$/, "y").replace(/^(.{3,}?)(?:ations?|ions?|ings?|ed|e)$/, "$1");
  return bare.replace(/([bdglmnprt])\1$/, "$1");
}

/**
 * Letters changed, left out, put in or swapped with a neighbour between two
 * words (Damerau's distance, adjacent swaps only); stops counting beyond `most`.
 * @param {string} a
 * @param {string} b
 * @param {number} most
 */
export function slips(a, b, most) {
  if (Math.abs(a.length - b.length) > most) return most + 1;
  /** @type {number[]} */
  let before = [];
  /** @type {number[]} */
  let last = [];
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    [before, last, row] = [last, row, [i]];
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1];
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + Number(!same));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) row[j] = Math.min(row[j], before[j - 2] + 1);
    }
    if (Math.min(...row) > most) return most + 1;
  }
  return row[b.length];
}

/**
 * The letters of a word as bits: words that differ by few slips have most of them in common.
 * @param {string} word
 */
function letters(word) {
  let bits = 0;
  for (let i = 0; i < word.length; i++) bits |= 1 << (word.charCodeAt(i) % 32);
  return bits;
}

/** @param {number} bits */
function countBits(bits) {
  let count = 0;
  for (let rest = bits; rest; rest &= rest - 1) count++;
  return count;
}

/**
 * The words that may differ from `root` by slips.
 * @param {string} root
 * @param {string[]} vocabulary
 * @param {number} most
 * @returns {[string, number][]} each with how many
 */
function near(root, vocabulary, most) {
  const bits = letters(root);
  /** @type {[string, number][]} */
  const found = [];
  for (const word of vocabulary) {
    if (word.length < root.length - most || countBits(bits & ~letters(word)) > most) continue;
    // A word still being typed may carry its slip in the beginning.
    const whole = slips(root, word, most);
    const far = whole <= most ? whole : word.length > root.length && root.length > 4 ? slips(root, word.slice(0, root.length), 1) + .5 : 9;
    if (far <= most + .5) found.push([word, far]);
  }
  return found;
}

/**
 * How well each stem of `vocabulary` answers a word asked for; 0 is left out.
 * A word is found whole or as a beginning, and with slips of spelling where it
 * is not found so: one in words of four letters or more, two in words of eight
 * or more.
 * @param {string} asked
 * @param {string[]} vocabulary
 */
export function likeness(asked, vocabulary) {
  const root = stem(asked);
  /** @type {Map<string, number>} */
  const found = new Map();
  for (const word of vocabulary) {
    if (word === root) found.set(word, 1);
    else if (asked.length > 1 && (word.startsWith(root) || word.startsWith(asked))) found.set(word, .5 + .4 * root.length / word.length);
  }
  const most = /\d/.test(asked) ? 0 : asked.length >= 8 ? 2 : asked.length >= 4 ? 1 : 0;
  if (found.size || !most) return found;
  for (const [word, far] of near(root, vocabulary, most)) found.set(word, .6 / (1 + far));
  return found;
}
