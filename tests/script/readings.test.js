import assert from "node:assert/strict";
import { test } from "node:test";
import { columnsOf, forCore, fromExport, toCsv, toExport } from "../../templates/script/readings-file.js";

const spec = "judge\tcheck\ngroup\t\ncolumn\tcharge\tCrude\tmass\tg\t0.1 g\t\t\t\tonce\ncolumn\thead\tHead\ttemperature\t°C\t1 °C\thead_temperature\t\t\t\ncolumn\tnote\tRemark\twords\t\t\t\t\t\t\n";
const run = {
  id: "1", page: "techniques/x/", block: "readings", title: "X", name: "Bench 4", begun: "2026-11-28T09:00:00.000Z",
  spec, sheet: "@check\treading-check\nsubstance=toluene", once: { charge: "120" },
  entries: [
    { at: "2026-11-28T09:10:00.000Z", cells: { head: "108" } },
    { at: "2026-11-28T09:12:00.000Z", cells: { head: "109", note: "a \"drop\", <b>\nthen two" } },
  ],
};
const refusal = (text) => { try { fromExport(text); return "taken"; } catch (error) { return error.message; } };

test("an export comes back whole", () => {
  const { id, ...rest } = run;
  assert.deepEqual(JSON.parse(JSON.stringify(fromExport(toExport(run)))), rest);
  const empty = { ...run, entries: [] };
  assert.deepEqual(fromExport(toExport(empty)).entries, []);
});

test("a broken export is refused with its line", () => {
  const lines = toExport(run).split("\n");
  const broken = (line, text) => lines.toSpliced(line - 1, 1, text).join("\n");
  assert.equal(refusal(broken(4, '{"at":"2026-11-28T09:12:00.000Z","cells":{"head"')), "line 4 cannot be read");
  assert.equal(refusal(broken(1, "{{")), "line 1 cannot be read");
  assert.equal(refusal(lines.slice(0, 3).join("\n")), "line 3 cannot be read");
  assert.equal(refusal(broken(4, '{"at":"2026-11-28T09:12:00.000Z","cells":{"head":5}}')), "line 4: “head” is no text");
  assert.equal(refusal(broken(4, '{"at":"soon","cells":{}}')), "line 4: “soon” is no time");
  assert.equal(refusal(broken(4, "null")), "line 4: this is no reading");
  assert.equal(refusal(broken(4, '{"at":"2026-11-28T09:12:00.000Z"}')), "line 4: cells are missing");
  for (const other of ["[]", "5", "{}", '{"format":"x"}', "null"]) assert.match(refusal(other), /^line 1: this is no export/);
});

test("an export reaches no property of the language", () => {
  const hostile = toExport(run).replace('"cells":{"head":"108"}', '"cells":{"__proto__":"x","head":"108"}');
  const read = fromExport(hostile);
  assert.equal({}.x, undefined);
  assert.equal(Object.getPrototypeOf(read.entries[0].cells), null);
});

test("the core gets a line for each reading, whatever was typed", () => {
  assert.deepEqual(forCore(run), { once: "charge=120", rows: "108\t\t\n109\ta \"drop\", <b> then two\t" });
  assert.deepEqual(columnsOf(spec).map(({ name, how }) => [name, how]), [["charge", "once"], ["head", ""], ["note", ""]]);
});

// RFC 4180, section 2: lines end in CRLF; quotes are doubled inside quotes.
test("a table for other programs", () => {
  const lines = toCsv(run, ["Agrees.", "High."]).split("\r\n");
  assert.equal(lines[0], '"No.","Time","Head / °C","Remark","Verdict"');
  assert.equal(lines[2], '"2","2026-11-28T09:12:00.000Z","109","a ""drop"", <b>\nthen two","High."');
});
