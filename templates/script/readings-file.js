// Runs as files: JSON to restore and to hand in, CSV for a table.

/** @typedef {Record<string, string>} Texts */
/** @typedef {{ at: string, cells: Texts }} Entry a reading: when, and a text for each column */
/**
 * A run as it is kept and exported. `spec` and `sheet` are for the core: what is
 * read, and what the page's calculators were given.
 * @typedef {object} Run
 * @property {string} id
 * @property {string} page
 * @property {string} block
 * @property {string} title
 * @property {string} name
 * @property {string} begun
 * @property {string} spec
 * @property {string} sheet
 * @property {Texts} once
 * @property {Entry[]} entries
 */

const FORMAT = "forerun-readings-1";
const MOST_ENTRIES = 5000;
const LONGEST = 20000;

/**
 * The export of a run: JSON with a line for each reading, so that a fault has a line.
 * @param {Run} run
 */
export function toExport(run) {
  const { id, entries, ...rest } = run;
  const head = JSON.stringify({ format: FORMAT, ...rest });
  const lines = entries.map((entry) => JSON.stringify(entry)).join(",\n");
  return `${head.slice(0, -1)},\n"entries":[\n${lines}\n]}\n`;
}

/**
 * The run of an export, without an id of its own.
 * @param {string} text
 * @returns {Omit<Run, "id">}
 * @throws {Error} says what is wrong in which line
 */
export function fromExport(text) {
  /** @type {unknown} */
  let read;
  try { read = JSON.parse(text); } catch { throw new Error(`line ${brokenLine(text)} cannot be read`); }
  const run = asObject(read, 1, "this is no export of readings");
  if (run.format !== FORMAT) throw new Error("line 1: this is no export of readings");
  /** @param {string} name */
  const words = (name) => asText(run[name], 1, name);
  const entries = run.entries;
  if (!Array.isArray(entries)) throw new Error("line 2: there are no readings");
  if (entries.length > MOST_ENTRIES) throw new Error(`line ${MOST_ENTRIES + 3}: more than ${MOST_ENTRIES} readings`);
  return {
    page: words("page"), block: words("block"), title: words("title"), name: words("name"),
    begun: date(run.begun, 1), spec: words("spec"), sheet: words("sheet"),
    once: texts(run.once, 1),
    entries: entries.map((entry, index) => {
      const line = index + 3, { at, cells } = asObject(entry, line, "this is no reading");
      return { at: date(at, line), cells: texts(cells, line) };
    }),
  };
}

/**
 * The first line that is at fault in an export that is no JSON. Each reading has its own.
 * @param {string} text
 */
function brokenLine(text) {
  const lines = text.trimEnd().split("\n");
  /** @param {string} json */
  const sound = (json) => { try { JSON.parse(json); return true; } catch { return false; } };
  if (!sound(lines[0].replace(/,\s*$/, "}"))) return 1;
  if (lines.length < 2 || lines[1].trim() !== '"entries":[') return Math.min(2, lines.length);
  const at = lines.findIndex((line, index) => index > 1 && line.trim() !== "]}" && !sound(line.replace(/,\s*$/, "")));
  return at < 0 ? lines.length : at + 1;
}

/**
 * @param {unknown} value
 * @param {number} line
 * @param {string} wrong
 * @returns {Record<string, unknown>}
 */
function asObject(value, line, wrong) {
  if (typeof value !== "object" || !value || Array.isArray(value)) throw new Error(`line ${line}: ${wrong}`);
  return Object.assign(Object.create(null), value);
}

/**
 * @param {unknown} value
 * @param {number} line
 * @param {string} name
 */
function asText(value, line, name) {
  if (typeof value !== "string" || value.length > LONGEST) throw new Error(`line ${line}: “${name.slice(0, 40)}” is no text`);
  return value;
}

/**
 * @param {unknown} value
 * @param {number} line
 */
function date(value, line) {
  const text = asText(value, line, "time"), time = new Date(text);
  if (Number.isNaN(time.getTime())) throw new Error(`line ${line}: “${text.slice(0, 40)}” is no time`);
  return time.toISOString();
}

/**
 * @param {unknown} value
 * @param {number} line
 * @returns {Texts}
 */
function texts(value, line) {
  const read = Object.create(null);
  for (const [name, text] of Object.entries(asObject(value, line, "cells are missing"))) read[name] = asText(text, line, name);
  return read;
}

/** @typedef {{ name: string, label: string, kind: string, unit: string, error: string, how: string }} Column */

/**
 * The columns of a spec, as a page shows them.
 * @param {string} spec
 * @returns {Column[]}
 */
export function columnsOf(spec) {
  return spec.split("\n").filter((line) => line.startsWith("column\t")).map((line) => {
    const [, name = "", label = "", kind = "", unit = "", error = "", , , , how = ""] = line.split("\t");
    return { name, label, kind, unit, error, how };
  });
}

/**
 * Lines as the core reads them: what was asked once, and a line of cells for each reading.
 * @param {Pick<Run, "spec" | "once" | "entries">} run
 */
export function forCore({ spec, once, entries }) {
  /** @param {string | undefined} text */
  const plain = (text) => (text ?? "").replace(/\s+/g, " ").trim();
  const each = columnsOf(spec).filter((column) => column.how !== "once");
  return {
    once: Object.entries(once).map(([name, text]) => `${plain(name)}=${plain(text)}`).join("\n"),
    // A line of blanks alone would be none: a tab more keeps it.
    rows: entries.map(({ cells }) => each.map(({ name }) => plain(cells[name])).join("\t") + "\t").join("\n"),
  };
}

/**
 * The readings as CSV (RFC 4180), with what was said of each.
 * @param {Run} run
 * @param {string[]} said
 */
export function toCsv(run, said) {
  /** @param {string} text */
  const cell = (text) => `"${text.replaceAll('"', '""')}"`;
  const columns = columnsOf(run.spec).filter((column) => column.how !== "once");
  const heads = ["No.", "Time", ...columns.map(({ label, unit }) => unit ? `${label} / ${unit}` : label), "Verdict"];
  const rows = run.entries.map(({ at, cells }, index) =>
    [String(index + 1), at, ...columns.map(({ name }) => cells[name] ?? ""), said[index] ?? ""]);
  return [heads, ...rows].map((row) => row.map(cell).join(",")).join("\r\n") + "\r\n";
}
