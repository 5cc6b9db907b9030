// Rows of inputs in a form: what stands in their cells, and adding, moving and
// taking away.

import { tidy } from "./cells.js";
import { say } from "./notices.js";
import { all, the } from "./page.js";

/** @typedef {import("./cells.js").Cells} Cells */
/** @typedef {HTMLInputElement | HTMLSelectElement} Box one box to type in or choose from */

/**
 * @param {Element} field
 * @returns {field is HTMLFieldSetElement}
 */
export const isRows = (field) => field.matches("[data-rows]");

/** @param {HTMLElement} field */
export const rowsIn = (field) => all(":scope > .row", field);

/**
 * @param {HTMLElement} row
 * @returns {Box[]}
 */
export const cellsIn = (row) => all("[data-column]", row);

/** @param {HTMLElement} field */
export const readRows = (field) => tidy(rowsIn(field).map((row) => cellsIn(row).map((cell) => cell.value)));

/**
 * What stands in the rows as they were built.
 * @param {HTMLElement} field
 */
export const builtRows = (field) => tidy(rowsIn(field).map((row) => cellsIn(row).map((cell) =>
  cell instanceof HTMLInputElement ? cell.defaultValue : ([...cell.options].find((one) => one.defaultSelected) ?? cell.options[0])?.value ?? "")));

/**
 * @param {HTMLElement} field
 * @param {Cells} rows
 */
export function writeRows(field, rows) {
  for (const row of rowsIn(field)) row.remove();
  for (const texts of rows.length ? rows : [[]]) {
    cellsIn(addRow(field)).forEach((cell, index) => { if (texts[index]) cell.value = texts[index]; });
  }
  numberRows(field);
}

/**
 * The cells of all rows have the same names; a row's number tells them apart
 * where they are heard and not seen.
 * @param {HTMLElement} field
 */
export function numberRows(field) {
  rowsIn(field).forEach((row, index) => {
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", `Row ${index + 1}`);
  });
}

/** @param {HTMLElement} field */
function addRow(field) {
  /** @type {HTMLTemplateElement} */
  const template = the("template", field);
  const row = the(".row", template.content).cloneNode(true);
  if (!(row instanceof HTMLElement)) throw new Error("a row is no element");
  (rowsIn(field).at(-1) ?? the("legend", field)).after(row);
  return row;
}

/**
 * Adds, takes away or moves a row; the focus stays with what was moved. Says
 * whether anything changed.
 * @param {HTMLElement} button
 */
export function moveRow(button) {
  const rows = button.closest("[data-rows]"), row = button.closest(".row"), { move } = button.dataset;
  if (!(rows instanceof HTMLElement)) return false;
  /** @param {Element} one */
  const number = (one) => rowsIn(rows).findIndex((other) => other === one) + 1;
  if (move === "add") {
    const added = addRow(rows);
    cellsIn(added)[0].focus();
    say(`Row ${number(added)} added`);
  } else if (row instanceof HTMLElement) {
    if (!(move === "remove" ? takeAway(row, number(row)) : shift(row, move === "up"))) return false;
    if (move !== "remove") {
      button.focus();
      say(`Moved to row ${number(row)}`);
    }
  }
  numberRows(rows);
  return true;
}

/** @param {Element} row */
const before = (row) => row.previousElementSibling?.closest(".row");
/** @param {Element} row */
const after = (row) => row.nextElementSibling?.closest(".row");

/**
 * The last one left is emptied.
 * @param {HTMLElement} row
 * @param {number} number
 */
function takeAway(row, number) {
  say(`Row ${number} removed`);
  const neighbour = after(row) ?? before(row);
  if (neighbour) row.remove();
  else for (const cell of cellsIn(row)) cell.value = "";
  const next = neighbour instanceof HTMLElement ? neighbour : row;
  cellsIn(next)[0].focus();
  return true;
}

/**
 * @param {HTMLElement} row
 * @param {boolean} up
 */
function shift(row, up) {
  const other = up ? before(row) : after(row);
  if (up) other?.before(row);
  else other?.after(row);
  return Boolean(other);
}
