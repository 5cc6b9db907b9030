// Rows of cells, as they stand in a form. How they are written as one text is
// the core's to know; it gives and takes them a line for each row, cells parted
// by tabs.

/** @typedef {string[][]} Cells */

/**
 * Whether something that was kept is rows of cells.
 * @param {unknown} value
 * @returns {value is Cells}
 */
export const isCells = (value) => Array.isArray(value)
  && value.every((row) => Array.isArray(row) && row.every((cell) => typeof cell === "string"));

/**
 * Without blanks around cells, blank cells at the end of a row and blank rows.
 * @param {Cells} rows
 * @returns {Cells}
 */
export function tidy(rows) {
  return rows.map((row) => {
    const cells = row.map((cell) => cell.trim());
    while (cells.length && !cells.at(-1)) cells.pop();
    return cells;
  }).filter((row) => row.length);
}

/** @param {Cells} rows */
export const toLines = (rows) => rows.map((row) => row.map((cell) => cell.replace(/\s+/g, " ")).join("\t")).join("\n");

/**
 * @param {string} lines
 * @returns {Cells}
 */
export const fromLines = (lines) => lines.split("\n").filter(Boolean).map((line) => line.split("\t"));
