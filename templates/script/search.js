// Search over the whole manual on the device. A word matches whole, as a
// beginning, or with slips of spelling: one in words of four letters or more,
// two in words of eight or more.

const form = document.querySelector("form.search");
const box = form.elements.words;
const list = document.getElementById("found");
const count = document.querySelector(".search-count");

const words = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase().match(/[\p{L}\p{N}]+/gu) ?? [];
let pages = [], vocabulary = [];

async function start() {
  const answer = await fetch(form.dataset.index);
  pages = (await answer.json()).map((page) => ({ ...page, inTitle: new Set(words(page.title)), inText: new Set(words(page.text ?? "")) }));
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

// Letters changed, left out, put in or swapped with a neighbour between two
// words (Damerau's distance, adjacent swaps only); stops counting beyond `most`.
function slips(a, b, most) {
  if (Math.abs(a.length - b.length) > most) return most + 1;
  let before, last, row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    [before, last, row] = [last, row, [i]];
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1];
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + !same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) row[j] = Math.min(row[j], before[j - 2] + 1);
    }
    if (Math.min(...row) > most) return most + 1;
  }
  return row[b.length];
}

// How well each word of the manual answers a word asked for; 0 is left out.
function likeness(asked) {
  const most = asked.length >= 8 ? 2 : asked.length >= 4 ? 1 : 0;
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

function find() {
  const sought = words(box.value);
  history.replaceState(null, "", box.value ? "#" + encodeURIComponent(box.value) : location.pathname);
  const likenesses = sought.map(likeness);
  const hits = pages.map((page) => {
    let score = sought.length ? 1 : 0;
    for (const found of likenesses) {
      let best = 0;
      for (const [word, like] of found) {
        if (page.inTitle.has(word)) best = Math.max(best, like * 3);
        else if (page.inText.has(word)) best = Math.max(best, like);
      }
      score *= best;
    }
    return { page, score };
  }).filter((hit) => hit.score > 0).sort((a, b) => b.score - a.score).slice(0, 30);

  list.replaceChildren(...hits.map(({ page }) => {
    const item = document.createElement("li"), link = document.createElement("a"), line = document.createElement("p");
    link.href = document.documentElement.dataset.base + page.url;
    link.textContent = page.title;
    line.textContent = [page.kind, page.summary].filter(Boolean).join(" · ");
    item.append(link, line);
    return item;
  }));
  count.textContent = !sought.length ? "" : hits.length ? `${hits.length} page${hits.length > 1 ? "s" : ""} found` : "Nothing found. Try fewer words, or the start page.";
}

start().catch(() => { count.textContent = "The search list could not be loaded."; });
