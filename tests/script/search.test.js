import assert from "node:assert/strict";
import { test } from "node:test";
import { clock } from "../../templates/script/clock.js";
import { likeness, slips, words } from "../../templates/script/spelling.js";

test("slips of spelling are counted", () => {
  for (const [a, b, count] of [["still", "still", 0], ["still", "stil", 1], ["still", "tsill", 1], ["soxhlet", "soxlet", 1], ["flask", "column", 3]]) {
    assert.equal(slips(a, b, 2), count, `${a} ${b}`);
    assert.equal(slips(b, a, 2), count, `${b} ${a}`);
  }
});

test("a word is found whole, by its beginning, and with a slip", () => {
  const found = likeness("distil", ["distil", "distillation", "distyl", "column"]);
  assert.equal(found.get("distil"), 1);
  assert.ok(found.get("distillation") > found.get("distyl"));
  assert.equal(found.has("column"), false);
  assert.equal(likeness("ph", ["ps"]).size, 0);
});

test("words lose accents and capitals", () => {
  assert.deepEqual(words("Claisen’s Décanter, 2-butanol"), ["claisen", "s", "decanter", "2", "butanol"]);
});

test("a clock shows hours where there are any", () => {
  assert.deepEqual([0, 59, 245, 3723].map(clock), ["0:00", "0:59", "4:05", "1:02:03"]);
});
