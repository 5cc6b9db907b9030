// The core: fetched once, only where a page has calculators. Every result is
// printed, so it comes when it is asked for: at the first touch of a form, at
// once where other values than the page's own wait for it, else when the browser
// has nothing to do. Where it cannot be had, forms close.

import { toLines } from "./cells.js";
import { notice, say } from "./notices.js";
import { all, html, make } from "./page.js";
import { bare } from "./values.js";

/** @typedef {import("./values.js").Values} Values */
/** @typedef {import("./values.js").Texts} Texts */

/**
 * What calc-wasm/src/browser/results.rs gives.
 * @typedef {object} Core
 * @property {(question: string, base: string) => string} ask
 * @property {(data: string) => string} load
 * @property {(calculator: string, id: string, inputs: string, base: string) => string} result
 * @property {(text: string, keys: string) => boolean} sheet
 * @property {(calculator: string, inputs: string) => string} sweeps
 * @property {(calculator: string, input: string, text: string, share: number) => string} swept
 * @property {(calculator: string, inputs: string, input: string, result: string, wanted: string) => string} backwards
 * @property {(typed: string, base: string) => string} change
 * @property {(calculator: string, input: string, text: string) => string} cells
 * @property {(calculator: string, input: string, cells: string) => string} rows
 * @property {(spec: string, sheet: string, once: string, rows: string, id: string, base: string) => string} log
 * @property {(groups: string, base: string) => string} side_by_side
 */

/** @type {Core | undefined} */
export let core;
/** Whether the core cannot be had. */
export let missing = false;
/** @type {Promise<void> | undefined} */
export let coming;

/** @type {{ arrived(): void, failed(): void }[]} */
const waiting = [];

/**
 * Who wants to know that the core is there, or cannot be had.
 * @param {{ arrived(): void, failed(): void }} one
 */
export function awaitCore(one) {
  waiting.push(one);
}

/** Fetches the core, once; never rejects. */
export function fetchCore() {
  coming ??= loadCore().then(() => {
    for (const one of waiting) one.arrived();
  }).catch((error) => {
    console.error(error);
    missing = true;
    for (const one of waiting) one.failed();
    notice("The calculators could not be loaded: forms show the values of the page, and what was worked out for them.", "Try again", () => location.reload());
  });
  return coming;
}

/** A form was touched. */
export function touched() {
  if (!coming) say("Fetching the calculators");
  fetchCore();
}

/** @param {string} path */
const at = (path) => new URL(path, document.baseURI).href;

/** @param {string} path */
async function fetched(path) {
  const answer = await fetch(at(path));
  if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
  return answer;
}

async function loadCore() {
  const { module = "", wasm = "", data = "" } = html.dataset;
  const [glue, text] = await Promise.all([
    import(at(module)),
    fetched(data).then((answer) => answer.text()),
  ]);
  await glue.default({ module_or_path: at(wasm) });
  const trouble = glue.load(text);
  if (trouble) throw new Error(trouble);
  core = glue;
  listNames(text);
}

/**
 * The names offered while one types: first column of the table that an input lists.
 * @param {string} text all tables
 */
function listNames(text) {
  for (const name of new Set(all("input[list]").map((input) => input.getAttribute("list") ?? ""))) {
    const list = document.getElementById(name) ?? document.body.appendChild(make("datalist", { id: name }));
    if (list.childElementCount) continue;
    const [, table = ""] = `\n${text}`.split(`\n[${name}]\n`);
    const lines = table.split("\n[")[0].split("\n").slice(1).filter(Boolean);
    list.append(...lines.map((line) => make("option", { value: line.split("\t")[0] })));
  }
}

/**
 * The result of a calculator as HTML. Should the core ever fail, an old result
 * must not stand beside new values.
 * @param {string} calculator
 * @param {string} id
 * @param {Texts} inputs
 */
export function workOut(calculator, id, inputs) {
  try {
    if (!core) throw new Error("no core");
    return core.result(calculator, id, filledLines(inputs), html.dataset.base ?? "");
  } catch {
    return failure();
  }
}

/**
 * Inputs as the core takes them, blank ones left out.
 * @param {Texts} inputs
 */
export const filledLines = (inputs) => Object.entries(inputs).filter(([, value]) => value).map(([key, value]) => `${key}=${value}`).join("\n");

/** What stands in place of a result where the core failed. */
export const failure = () => `<p class="problem" data-for="">These values could not be worked out. ${missing ? "Load" : "Change one of them, or load"} the page again.</p>`;

/**
 * Values as texts: only the core knows how rows are written, and without it there are none.
 * @param {string} calculator
 * @param {Values} values
 * @returns {Texts | null}
 */
export function inText(calculator, values) {
  const there = core, entries = Object.entries(values);
  if (!there && entries.some(([, value]) => typeof value !== "string")) return null;
  return bare(entries.map(([key, value]) =>
    [key, typeof value === "string" ? value : there?.rows(calculator, key, toLines(value)) ?? ""]));
}

/** @type {Promise<{ qr(text: string): string }> | null} */
let drawing = null;

/**
 * A text as a code for cameras, empty where it is too long. What draws codes is
 * fetched when one is first asked for.
 * @param {string} text
 */
export async function drawn(text) {
  const [module, wasm] = (html.dataset.code ?? "").split(" ");
  drawing ??= import(at(module))
    .then((glue) => glue.default({ module_or_path: at(wasm) }).then(() => glue))
    .catch((error) => { drawing = null; throw error; });
  return (await drawing)?.qr(text) ?? "";
}
