import assert from "node:assert/strict";
import { test } from "node:test";
import { fromLines, isCells, tidy, toLines } from "../../templates/script/cells.js";
import { bare, clean, differences } from "../../templates/script/values.js";

test("what differs from the author's values, blanks and rows included", () => {
  const author = { pressure: "100 mmHg", note: "", spots: [["a", "0.35"], ["b", "0.2"]] };
  assert.deepEqual({ ...differences(structuredClone(author), author) }, {});
  const now = { pressure: "", note: "", spots: [["b", "0.2"], ["a", "0.35"]] };
  assert.deepEqual({ ...differences(now, author) }, { pressure: "", spots: now.spots });
});

test("of what was kept, only texts and rows of texts are values", () => {
  for (const broken of [null, 5, "x", [], [["a"]], true]) assert.deepEqual({ ...clean(broken) }, {});
  const given = { a: "1", b: 2, c: [["x", ""]], d: [["x", 1]], e: { f: "g" }, g: null };
  assert.deepEqual({ ...clean(given) }, { a: "1", c: [["x", ""]] });
});

test("a value reaches no property of the language, and begins no other line", () => {
  const values = clean(JSON.parse('{"__proto__": "x", "constructor": "y", "a": "1\\nb=2\\u2028"}'));
  assert.equal(Object.getPrototypeOf(values), null);
  assert.deepEqual(Object.entries(values), [["constructor", "y"], ["a", "1 b=2 "]]);
  assert.equal("toString" in bare(), false);
});

test("rows without blanks around them", () => {
  assert.deepEqual(tidy([[" a ", "", "1 "], ["", " "], ["b", "", ""]]), [["a", "", "1"], ["b"]]);
});

test("cells travel to the core and back", () => {
  const rows = [["a", "", "1"], ["b"]];
  assert.deepEqual(fromLines(toLines(rows)), rows);
  assert.deepEqual(fromLines(""), []);
  // What would part cells or rows on the way does not.
  assert.equal(toLines([["a\tb", "c\nd"]]), "a b\tc d");
});

test("rows are lists of lists of texts", () => {
  assert.ok(isCells([]) && isCells([["a"]]));
  for (const other of [null, "a", ["a"], [[1]], { 0: ["a"] }]) assert.equal(isCells(other), false);
});
