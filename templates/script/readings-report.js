// The report sheet of a run, for one side of A4: what was planned, what was
// read, what agreed and by how much, and blank lines where nothing was logged.

import { all, html, make } from "./page.js";

/** @typedef {import("./readings-log.js").Log} Log */

/** Lines of the table at least, the blank ones to be filled in by hand. */
const LINES = 8;
/** Readings from which the sheet is set smaller. */
const MANY = 16;

/** @param {string} label @param {string} text */
const pair = (label, text) => make("div", {}, make("dt", { textContent: label }), make("dd", { textContent: text || " " }));

/** @param {Element | null | undefined} element */
const words = (element) => element?.textContent.replace(/\s+/g, " ").trim() ?? "";

/**
 * A figure in words: 109.4 °C (108 to 111).
 * @param {Element} figure
 */
function shown(figure) {
  const [value, unit, interval] = ["output", ".unit", ".interval"].map((one) => words(figure.querySelector(one)));
  return [value, unit, interval && `(${interval})`].filter(Boolean).join(" ");
}

/**
 * What the page expected: each calculator's values and its first figures.
 * @param {Log} log
 */
function planned(log) {
  return log.drawsOn().map((one) => {
    const values = one.inputs();
    const given = all(".field", one.form).flatMap((field) => {
      const name = field.dataset.input ?? "", value = values[name];
      return value && value !== ";" ? [`${words(field.querySelector("label, legend"))} ${value}`] : [];
    });
    // Words are verdicts, and those are on the readings.
    const figures = all(".figure:has(.unit)", one.result).slice(0, one.block.id === log.judgedBy ? 1 : 4).map((figure) => `${words(figure.querySelector("dt"))}: ${shown(figure)}`);
    return make("p", {}, make("b", { textContent: figures.join("; ") }), ` (${given.join(", ")})`);
  });
}

/** @param {Log} log */
function readings(log) {
  const entries = log.run?.entries ?? [];
  const heads = ["No.", "Time", ...log.each.map(({ column }) => [column.label, column.unit].filter(Boolean).join(" / ")), "Verdict"];
  const rows = Array.from({ length: Math.max(LINES, entries.length) }, (_, index) => {
    const entry = entries[index];
    const time = entry ? new Date(entry.at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" }) : "";
    const texts = [time, ...log.each.map(({ column }) => entry?.cells[column.name] ?? ""), entry ? log.said[index] ?? "" : ""];
    return make("tr", {}, make("th", { scope: "row", textContent: String(index + 1) }), ...texts.map((textContent) => make("td", { textContent })));
  });
  return make("table", {}, make("thead", {}, make("tr", {}, ...heads.map((textContent) => (textContent ? make("th", { scope: "col", textContent }) : make("td"))))), make("tbody", {}, ...rows));
}

/** @param {Log} log */
function sheet(log) {
  const { run } = log, begun = run ? new Date(run.begun).toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric" }) : "";
  const plot = log.result.hidden ? null : log.result.querySelector(".plot")?.cloneNode(true);
  const figures = log.result.hidden ? [] : all(".figure", log.result).map((one) => pair(words(one.querySelector("dt")), shown(one)));
  const tables = log.result.hidden ? [] : all(".calc-table", log.result).map((one) => one.cloneNode(true));
  return make("article", { className: (run?.entries.length ?? 0) > MANY ? "report report-small" : "report" },
    make("header", {}, make("h1", { textContent: `Report: ${words(document.querySelector("h1"))}` }),
      make("dl", {}, pair("Run", run?.name ?? ""), pair("Date", begun), pair("Name", ""), pair("Checked", ""))),
    make("section", {}, make("h2", { textContent: "Planned" }), ...planned(log)),
    make("section", {}, make("h2", { textContent: "Read" }),
      make("dl", {}, ...log.once.map(({ column }) => pair([column.label, column.unit].filter(Boolean).join(" / "), run?.once[column.name] ?? ""))), readings(log)),
    make("section", { className: "report-found" }, make("h2", { textContent: "Found" }),
      make("div", {}, ...(plot ? [plot] : []), make("dl", {}, ...(figures.length ? figures : [pair("Readings that agree", ""), pair("Found again", "")]))), ...tables),
    make("section", { className: "report-lines" }, make("h2", { textContent: "Remarks" }), make("p"), make("p"), make("p")));
}

/** @param {Log} log */
export function printReport(log) {
  for (const old of all(".report")) old.remove();
  document.body.append(sheet(log));
  html.dataset.report = "";
  addEventListener("afterprint", () => {
    delete html.dataset.report;
    for (const old of all(".report")) old.remove();
  }, { once: true });
  print();
}
