// Search over the whole manual on the device.

import { html, make, the } from "./page.js";
import { likeness, words } from "./spelling.js";

/** @typedef {{ title: string, url: string, kind?: string, summary?: string, text?: string }} Listed */
/** @typedef {Listed & { inTitle: Set<string>, inText: Set<string> }} Page */

/** @type {HTMLFormElement} */
const form = the("form.search");
/** @type {HTMLInputElement} */
const box = the('[name="words"]', form);
const list = the("#found");
const count = the(".search-count");

/** @type {Page[]} */
let pages = [];
/** @type {string[]} */
let vocabulary = [];

async function start() {
  const answer = await fetch(form.dataset.index ?? "");
  /** @type {Listed[]} */
  const listed = await answer.json();
  pages = listed.map((page) => ({ ...page, inTitle: new Set(words(page.title)), inText: new Set(words(page.text ?? "")) }));
  vocabulary = [...new Set(pages.flatMap((page) => [...page.inTitle, ...page.inText]))];
  box.value ||= asked();
  box.oninput = find;
  form.onsubmit = (event) => event.preventDefault();
  find();
}

// What the address asks for. A broken escape, as in `#100%`, is taken as it is written.
function asked() {
  const text = location.hash.slice(1);
  try { return decodeURIComponent(text); } catch { return text; }
}

/**
 * @param {Page} page
 * @param {Map<string, number>[]} likenesses of each word asked for
 */
function score(page, likenesses) {
  return likenesses.reduce((score, found) => {
    let best = 0;
    for (const [word, like] of found) {
      if (page.inTitle.has(word)) best = Math.max(best, like * 3);
      else if (page.inText.has(word)) best = Math.max(best, like);
    }
    return score * best;
  }, likenesses.length ? 1 : 0);
}

function find() {
  history.replaceState(null, "", box.value ? "#" + encodeURIComponent(box.value) : location.pathname);
  const likenesses = words(box.value).map((word) => likeness(word, vocabulary));
  const hits = pages.map((page) => ({ page, score: score(page, likenesses) }))
    .filter((hit) => hit.score > 0).sort((a, b) => b.score - a.score).slice(0, 30);
  list.replaceChildren(...hits.map(({ page }) => make("li", {},
    make("a", { href: html.dataset.base + page.url, textContent: page.title }),
    make("p", { textContent: [page.kind, page.summary].filter(Boolean).join(" · ") }))));
  count.textContent = !likenesses.length ? "" : hits.length ? `${hits.length} page${hits.length > 1 ? "s" : ""} found` : "Nothing found. Try fewer words, or the start page.";
}

start().catch(() => { count.textContent = "The search list could not be loaded."; });
