// The index of the search, and the order of what is found: where a word stands
// counts most, all words go before some of them.

import { likeness, stem, tokens, words } from "./spelling.js";

/** @typedef {{ title: string, of?: string, url: string, kind: string, summary?: string, names?: string[], need?: string, text?: string }} Listed */
/** @typedef {{ listed: Listed, called: Set<string>, length: number }} Place */
/** @typedef {{ places: Place[], posted: Map<string, Map<number, number>>, vocabulary: string[], meant: Map<string, string[]> }} Index */
/** @typedef {{ listed: Listed, score: number }} Hit */

// What a word is worth by where it stands.
const TITLE = 10, NAME = 8, OF = 4, NEED = 4, SUMMARY = 3, TEXT = 1;
/** @type {Record<string, number>} */
const KINDS = { technique: 1.5, experiment: 1, reference: 1.2, calculator: 1.2, word: 1.3, substance: 1.1, table: 1, part: .7 };
const EMPTY = new Set("a an and are at can do does for from how i in is it me my of on or should the to use what when where which why with you".split(" "));

/** @param {string} text */
const whole = (text) => tokens(text).map(stem).join(" ");

/**
 * The words under which a text is found: tokens with digits also by their parts.
 * @param {string} text
 */
const stems = (text) => tokens(text)
  .flatMap((token) => /\d/.test(token) ? [token, ...words(token).filter((part) => /^\p{L}{3,}$/u.test(part))] : token).map(stem);

/**
 * @param {Listed[]} listed
 * @returns {Index}
 */
export function index(listed) {
  /** @type {Map<string, Map<number, number>>} */
  const posted = new Map();
  /** @type {Map<string, string[]>} */
  const meant = new Map();
  /** @param {number} at @param {number} worth @param {string} text */
  const post = (at, worth, text) => {
    for (const word of stems(text)) {
      const found = posted.get(word) ?? new Map();
      if (!posted.has(word)) posted.set(word, found);
      found.set(at, Math.max(found.get(at) ?? 0, worth));
    }
  };
  const places = listed.map((one, at) => {
    const { title, of = "", names = [], need = "", summary = "", text = "" } = one;
    post(at, TITLE, title);
    post(at, OF, of);
    post(at, NEED, need);
    post(at, SUMMARY, summary);
    post(at, TEXT, text);
    for (const name of names) {
      post(at, NAME, name);
      // Another word for a word of the trade stands for it.
      if (one.kind === "word") meant.set(whole(name), tokens(title));
    }
    return { listed: one, called: new Set([title, ...names].map(whole)), length: tokens(title).length };
  });
  return { places, posted, vocabulary: [...posted.keys()], meant };
}

/**
 * What was asked as alternatives of words, each a list.
 * @param {Index} from
 * @param {string} asked
 */
function read(from, asked) {
  const all = tokens(asked);
  // A number that is no name is for the core.
  const telling = all.filter((word) => !EMPTY.has(word) && !(/^[\d.,]+$/.test(word)));
  const kept = telling.length ? telling : all;
  const other = from.meant.get(kept.map(stem).join(" "));
  const each = kept.flatMap((word) => from.meant.get(stem(word)) ?? word);
  return [kept, ...(other ? [other] : each.length > kept.length ? [each] : [])];
}

/**
 * @param {Index} from
 * @param {string[]} asked
 */
function scores(from, asked) {
  const { places, posted, vocabulary } = from;
  /** @type {Map<number, { score: number, words: number, title: number }>} */
  const found = new Map();
  for (const word of asked) {
    /** @type {Map<number, number>} */
    const best = new Map();
    for (const [like, how] of likeness(word, vocabulary)) {
      for (const [at, worth] of posted.get(like) ?? []) best.set(at, Math.max(best.get(at) ?? 0, worth * how));
    }
    const rare = Math.log(1 + places.length / (1 + best.size));
    for (const [at, worth] of best) {
      const so = found.get(at) ?? { score: 0, words: 0, title: 0 };
      found.set(at, { score: so.score + worth * rare, words: so.words + rare, title: so.title + Number(worth > NAME) });
    }
  }
  return found;
}

/**
 * What answers a question, the best first.
 * @param {Index} from
 * @param {string} asked
 * @returns {Hit[]}
 */
export function find(from, asked) {
  /** @type {Map<number, number>} */
  const best = new Map();
  for (const kept of read(from, asked)) {
    const name = kept.map(stem).join(" ");
    const found = scores(from, kept);
    const most = Math.max(0, ...[...found.values()].map((one) => one.words));
    for (const [at, { score, words: count, title }] of found) {
      const { listed, called, length } = from.places[at];
      const share = count / most;
      const filled = Math.min(1, title / Math.max(1, length));
      const exact = called.has(name) ? 3 : 1 + .5 * filled;
      best.set(at, Math.max(best.get(at) ?? 0, score * share ** 3 * exact * (KINDS[listed.kind] ?? 1)));
    }
  }
  return [...best].map(([at, score]) => ({ listed: from.places[at].listed, score })).sort((a, b) => b.score - a.score);
}
