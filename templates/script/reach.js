// What is on the page, in reach: the link to the part that is read is marked.

import { all } from "./page.js";

export function markWhereOneIs() {
  /** @type {HTMLAnchorElement[]} */
  const links = all(".contents a");
  const parts = links.map((link) => document.getElementById(link.hash.slice(1)));
  if (!links.length) return;
  let waiting = false;
  const mark = () => {
    waiting = false;
    // The last part that begins above the middle of the window.
    const at = parts.findLastIndex((part) => part && part.getBoundingClientRect().top < innerHeight / 2);
    links.forEach((link, index) => {
      if (index !== at) link.removeAttribute("aria-current");
      else if (!link.hasAttribute("aria-current")) {
        link.setAttribute("aria-current", "location");
        const row = link.closest("ol");
        if (row) row.scrollLeft = link.offsetLeft - row.offsetLeft - row.clientWidth / 3;
      }
    });
  };
  addEventListener("scroll", () => {
    if (!waiting) requestAnimationFrame(mark);
    waiting = true;
  }, { passive: true });
  mark();
}
