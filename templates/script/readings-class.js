// The exports of all groups side by side. They are read here and go nowhere.

import { core, fetchCore } from "./core.js";
import { html, make, the } from "./page.js";
import { forCore, fromExport } from "./readings-file.js";

/** @typedef {Omit<import("./readings-file.js").Run, "id">} Run */

/**
 * A group for the core: name, spec, sheet, what was asked once and the readings.
 * @param {Run} run
 * @param {string} file
 */
function group(run, file) {
  const { once, rows } = forCore(run);
  const parts = [run.name || file.replace(/\.json$/, ""), run.spec, run.sheet, once, rows];
  // The core parts groups and their pieces by these two signs.
  return parts.map((part) => part.replace(/[\x1d\x1e]/g, " ")).join("\x1d");
}

/** @param {HTMLElement} sheet */
export function startClass(sheet) {
  /** @type {HTMLInputElement} */
  const files = the("input", sheet);
  const refused = the(".class-refused", sheet), result = the(".class-result", sheet);
  files.onchange = async () => {
    /** @type {string[]} */
    const groups = [];
    refused.replaceChildren();
    for (const file of files.files ?? []) {
      try {
        if (file.size > 5e6) throw new Error("it is longer than any log");
        groups.push(group(fromExport(await file.text()), file.name));
      } catch (error) {
        const why = error instanceof Error ? error.message : String(error);
        refused.append(make("li", { textContent: `${file.name} was not taken: ${why}.` }));
      }
    }
    await fetchCore();
    result.innerHTML = groups.length && core ? core.side_by_side(groups.join("\x1e"), html.dataset.base ?? "") : "";
  };
}
