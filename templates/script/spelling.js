// Words, and how like two of them are.

/**
 * The words of a text, without accents and capitals.
 * @param {string} text
 * @returns {string[]}
 */
export const words = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase().match(/[\p{L}\p{N}]+/gu) ?? [];

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
 * How well each word of `vocabulary` answers a word asked for; 0 is left out.
 * A word matches whole, as a beginning, or with slips of spelling: one in words
 * of four letters or more, two in words of eight or more.
 * @param {string} asked
 * @param {string[]} vocabulary
 */
export function likeness(asked, vocabulary) {
  const most = asked.length >= 8 ? 2 : asked.length >= 4 ? 1 : 0;
  /** @type {Map<string, number>} */
  const found = new Map();
  for (const word of vocabulary) {
    if (word === asked) found.set(word, 1);
    else if (word.startsWith(asked)) found.set(word, .8);
    else if (most) {
      const whole = slips(asked, word, most);
      // A word still being typed may carry its slip in the beginning.
      const far = whole <= most ? whole : word.length > asked.length && asked.length > 4 ? slips(asked, word.slice(0, asked.length), 1) + .5 : 9;
      if (far <= most + .5) found.set(word, .6 / (1 + far));
    }
  }
  return found;
}
