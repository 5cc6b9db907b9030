// Tables: a button in every heading sorts, a box above leaves out rows.

import { part } from "./notices.js";
import { all, make } from "./page.js";

/** @param {string} text */
const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();

/**
 * @param {HTMLTableRowElement} row
 * @param {number} column
 */
const cell = (row, column) => row.cells[column]?.textContent.trim() ?? "";

/** @param {string} text */
const number = (text) => parseFloat(text.replace("−", "-").replace(/^[<>≈~ ]+/, ""));

export function sortTables() {
  /** @type {HTMLTableElement[]} */
  const tables = all("table.sortable");
  for (const table of tables) part("Sorting a table", () => {
    [...table.tHead?.rows[0].cells ?? []].forEach((heading, column) => sortBy(table, heading, column));
    addFilter(table);
  });
}

/**
 * @param {HTMLTableElement} table
 * @param {HTMLTableCellElement} heading
 * @param {number} column
 */
function sortBy(table, heading, column) {
  const body = table.tBodies[0], rows = [...body.rows];
  const filled = rows.filter((row) => cell(row, column));
  const numeric = filled.length > 0 && filled.every((row) => !Number.isNaN(number(cell(row, column))));
  /** @param {string} a @param {string} b */
  const compare = (a, b) => numeric ? number(a) - number(b) : a.localeCompare(b, "en", { numeric: true });
  const button = make("button", { type: "button" }, ...heading.childNodes);
  heading.append(button);
  button.onclick = () => {
    const down = heading.getAttribute("aria-sort") === "ascending";
    for (const other of all("[aria-sort]", table)) other.removeAttribute("aria-sort");
    heading.setAttribute("aria-sort", down ? "descending" : "ascending");
    body.append(...[...body.rows].sort((one, two) => {
      const a = cell(one, column), b = cell(two, column);
      if (!a || !b) return Number(!a) - Number(!b); // blanks stay at the end
      return down ? compare(b, a) : compare(a, b);
    }));
  };
}

/** @param {HTMLTableElement} table */
function addFilter(table) {
  const rows = [...table.tBodies[0].rows];
  const words = new Map(rows.map((row) => [row, plain(row.textContent)]));
  const box = make("input", { type: "search", autocomplete: "off", spellcheck: false });
  const count = make("output", { textContent: `${rows.length} rows` });
  box.oninput = () => {
    const wanted = plain(box.value).split(/\s+/);
    for (const row of rows) row.hidden = !wanted.every((word) => words.get(row)?.includes(word));
    count.textContent = `${rows.filter((row) => !row.hidden).length} of ${rows.length} rows`;
  };
  const filter = make("div", { className: "table-filter" }, make("label", {}, "Show rows with ", box), count);
  (table.closest(".wide") ?? table).before(filter);
}
