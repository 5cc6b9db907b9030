// Search over the whole manual on the device. Above what is found stands what
// the core answers, where the words ask for a number.

import { awaitCore, core, fetchCore } from "./core.js";
import { html, make, the } from "./page.js";
import { find, index } from "./ranking.js";

/** @typedef {import("./ranking.js").Listed} Listed */

/** @type {HTMLFormElement} */
const form = the("form.search");
/** @type {HTMLInputElement} */
const box = the('[name="words"]', form);
const list = the("#found");
const count = the(".search-count");
const answer = the("#answer");
const base = html.dataset.base ?? "";

/** @type {import("./ranking.js").Index | undefined} */
let all;

async function start() {
  const came = await fetch(form.dataset.index ?? "");
  if (!came.ok) throw new Error(`search list: ${came.status}`);
  all = index(await came.json());
  box.value ||= asked();
  box.oninput = show;
  form.onsubmit = (event) => event.preventDefault();
  awaitCore({ arrived: work, failed() {} });
  show();
}

// What the address asks for. A broken escape, as in `#100%`, is taken as it is written.
function asked() {
  const text = location.hash.slice(1);
  try { return decodeURIComponent(text); } catch { return text; }
}

// What the core answers; it is fetched once somebody asks. Only what differs is
// written, so that a screen reader is not told the same again.
function work() {
  const now = core && box.value.trim() ? core.ask(box.value, base) : "";
  if (answer.dataset.shown === now) return;
  answer.dataset.shown = now;
  answer.innerHTML = now;
}

/** @param {Listed} place */
const kind = ({ of, kind }) => of ? of : kind;

/** @param {Listed} place */
function entry(place) {
  const below = [kind(place), place.summary].filter(Boolean).join(" · ");
  return make("li", {},
    make("a", { href: base + place.url, textContent: place.title }),
    make("p", { textContent: below }));
}

function show() {
  history.replaceState(null, "", box.value ? "#" + encodeURIComponent(box.value) : location.pathname);
  if (box.value) fetchCore();
  work();
  const hits = all ? find(all, box.value).slice(0, 30) : [];
  list.replaceChildren(...hits.map((hit) => entry(hit.listed)));
  count.textContent = !box.value.trim() ? "" : hits.length ? `${hits.length} found` : "Nothing found. Try fewer words, or the start page.";
}

start().catch((error) => {
  console.error(error);
  count.textContent = "The search list could not be loaded.";
});
