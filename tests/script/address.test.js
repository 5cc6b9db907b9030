import assert from "node:assert/strict";
import { test } from "node:test";
import { fromAddress, hashOf, toAddress } from "../../templates/script/address.js";

const plain = (found) => found && Object.fromEntries([...found].map(([id, values]) => [id, { ...values }]));

test("what goes into the address comes out of it", () => {
  const values = { pressure: "20 ± 1 mmHg", spots: "a:0.35,100 mg; b: 50 %", note: "a=b&c.d#e", blank: "" };
  const pairs = [...toAddress("boiling point", values), ...toAddress("x", { y: "1" })];
  assert.deepEqual(plain(fromAddress("#" + hashOf(pairs))), { "boiling point": values, x: { y: "1" } });
});

test("an address without values says nothing, one with none says that none differ", () => {
  assert.equal(fromAddress(""), null);
  assert.equal(fromAddress("#method"), null);
  assert.deepEqual(plain(fromAddress("#set:")), {});
});

test("what is broken in an address is left out alone", () => {
  assert.deepEqual(plain(fromAddress("#set:a.b=%&nonsense&=&a.=1&.b=1&a.c=2")), { a: { c: "2" } });
});

test("names in an address are only names", () => {
  const found = fromAddress("#set:__proto__.x=1&a.__proto__=2&a.constructor=3");
  assert.equal({}.x, undefined);
  assert.equal(Object.getPrototypeOf(found.get("a")), null);
  assert.deepEqual(Object.keys(found.get("a")), ["__proto__", "constructor"]);
});
