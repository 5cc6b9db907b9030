// A word of the trade is explained where it stands, out of the glossary, which
// the device keeps. Without script, or where that fails, the link leads there.

import { make, the } from "./page.js";

/** @type {Promise<Document> | undefined} */
let glossary;

/** @param {HTMLAnchorElement} link */
async function explain(link) {
  glossary ??= fetch(link.href.split("#")[0])
    .then((answer) => answer.text())
    .then((text) => new DOMParser().parseFromString(text, "text/html"));
  const entry = (await glossary).getElementById(link.hash.slice(1));
  if (!entry) throw new Error(`no word ${link.hash}`);
  const more = make("a", { href: link.href, textContent: "All words" });
  const box = make("div", { className: "tolerance meaning", popover: "auto", autofocus: true, tabIndex: -1 },
    make("strong", { textContent: the("dt", entry).textContent }),
    make("p", { textContent: the("dd", entry).textContent }), more);
  box.addEventListener("toggle", (event) => { if (event instanceof ToggleEvent && event.newState === "closed") box.remove(); });
  document.body.append(box);
  box.showPopover();
}

export function explainWords() {
  addEventListener("click", (event) => {
    const link = event.target instanceof Element ? event.target.closest("a.term") : null;
    if (!(link instanceof HTMLAnchorElement) || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    explain(link).catch(() => location.assign(link.href));
  });
}
