// The sheet of a page with a run: values given once, on which its calculators
// and the numbers of its sentences draw. The core works it out with all that was
// typed, and says what differs.

import { core } from "./core.js";
import { all, html } from "./page.js";

/**
 * What differs: a kind (`result`, `drawn`, `number`, `trouble`), then its fields, as
 * calc-wasm/src/report/sheet.rs writes them.
 * @typedef {string[]} Record
 */

/** The sheet of a page, and the numbers that stand on it. */
export class Sheet {
  /** @param {string} text as the builder wrote it */
  constructor(text) {
    this.text = text;
    this.places = all("[data-number]");
    this.built = this.places.map((place) => place.textContent);
    this.started = false;
  }

  /**
   * Takes what was typed to the core, lines of owner, name and text parted by tabs.
   * @param {string[]} typed
   * @returns {Record[]}
   */
  differences(typed) {
    if (!core) throw new Error("no core");
    if (!this.started) {
      const keys = new Set(this.places.map((place) => place.dataset.number ?? ""));
      this.started = core.sheet(this.text, [...keys].join("\n"));
      if (!this.started) throw new Error("the sheet cannot be read");
    }
    const records = core.change(typed.join("\n"), html.dataset.base ?? "").split("\x1e");
    return records.filter(Boolean).map((record) => record.split("\x1f"));
  }

  /**
   * A number of a sentence shows another value.
   * @param {string} key
   * @param {string} text
   * @param {string} tolerance
   */
  show(key, text, tolerance) {
    for (const place of this.places) {
      if (place.dataset.number !== key) continue;
      place.textContent = text;
      if (place.title) place.title = tolerance;
      const more = document.getElementById(place.getAttribute("popovertarget") ?? "");
      if (more) more.textContent = tolerance;
    }
  }

  /** Back to what the builder wrote. */
  reset() {
    this.places.forEach((place, index) => { place.textContent = this.built[index] ?? ""; });
  }
}

const written = document.querySelector(".run-sheet")?.textContent;
/** The sheet of this page, where it has a run. */
export const sheet = written ? new Sheet(written) : null;

/**
 * A line for the core.
 * @param {string} owner
 * @param {string} name
 * @param {string} text
 */
export const line = (owner, name, text) => [owner, name, text].map((part) => part.replace(/[\t\n\x1e\x1f]+/g, " ")).join("\t");
