// Appearance and paper: a choice that is remembered and set on <html>.

import { keep, kept } from "./device.js";
import { all, html } from "./page.js";

/** @param {string} name */
export function choice(name) {
  const before = kept(name), value = typeof before === "string" ? before : "";
  /** @type {HTMLSelectElement | null} */
  const select = document.querySelector(`select[name="${name}"]`);
  if (value) html.dataset[name] = value;
  if (!select) return;
  if (value) select.value = value;
  select.onchange = () => {
    html.dataset[name] = select.value;
    keep(name, select.value || null);
  };
}

export function printing() {
  for (const button of all('[data-do="print"]')) button.onclick = () => print();
}
