import assert from "node:assert/strict";
import { test } from "node:test";
import { clock } from "../../templates/script/clock.js";
import { likeness, slips, stem, tokens, words } from "../../templates/script/spelling.js";

test("slips of spelling are counted", () => {
  for (const [a, b, count] of [["still", "still", 0], ["still", "stil", 1], ["still", "tsill", 1], ["soxhlet", "soxlet", 1], ["flask", "column", 3]]) {
    assert.equal(slips(a, b, 2), count, `${a} ${b}`);
    assert.equal(slips(b, a, 2), count, `${b} ${a}`);
  }
});

test("a word is found whole, by its beginning, and with a slip", () => {
  const found = likeness("distil", ["distil", "distillery", "distyl", "column"]);
  assert.equal(found.get("distil"), 1);
  assert.ok(found.get("distillery") > .5);
  assert.deepEqual([found.has("distyl"), found.has("column")], [false, false]);
  assert.deepEqual([...likeness("distyl", ["distil", "column"]).keys()], ["distil"]);
  assert.equal(likeness("ph", ["ps"]).size, 0);
});

test("a word and its kin are one", () => {
  for (const kin of ["distil distils distilling distillation distilled", "recrystallise recrystallization recrystallising", "glass glasses", "dry dries dried drying", "toluene toluen", "plate plates"]) {
    assert.equal(new Set(kin.split(" ").map(stem)).size, 1, kin);
  }
  assert.notEqual(stem("ethanol"), stem("ethane"));
  assert.notEqual(stem("acetone"), stem("acetate"));
});

test("what holds a digit stays whole", () => {
  assert.deepEqual(tokens("B24/29, 108-88-3 propan-2-ol C7H8 two-neck"), ["b24/29", "108-88-3", "propan-2-ol", "c7h8", "two", "neck"]);
});

test("words lose accents and capitals", () => {
  assert.deepEqual(words("Claisen’s Décanter, 2-butanol"), ["claisen", "s", "decanter", "2", "butanol"]);
});

test("a clock shows hours where there are any", () => {
  assert.deepEqual([0, 59, 245, 3723].map(clock), ["0:00", "0:59", "4:05", "1:02:03"]);
});
