// Bench cards: filled with what the reader typed on the page they belong to.

import { fromAddress, hashOf, toAddress } from "./address.js";
import { own } from "./calculators.js";
import { core, drawn, failure, fetchCore, inText, workOut } from "./core.js";
import { notice } from "./notices.js";
import { all, make, root, the } from "./page.js";
import { line, sheet } from "./sheet.js";
import { bare } from "./values.js";

/** @typedef {import("./values.js").Texts} Texts */

/** Fills the cards of the page; never rejects. */
export function fillCards() {
  return Promise.all(all(".card[data-page]").map(fillCard)).catch((error) => {
    console.error(error);
    notice("A card could not be filled in: it shows the values of its page.", "Try again", () => location.reload());
  });
}

/**
 * A bench card shows the reader's own values where there are any: those of the
 * address, else those kept from the page that the card belongs to. Its code
 * leads to that page, where this site stands, with what was typed; the page has
 * the rest by itself. Where that is what the builder drew, nothing is fetched.
 * @param {HTMLElement} card
 */
async function fillCard(card) {
  const page = new URL(card.dataset.page ?? "", root), given = fromAddress(location.hash);
  const sources = all(".card-source", card).map((source) => {
    const { id = "" } = source.dataset, inputs = inputsOf(source);
    const typed = Object.entries(own(given, id, `${page.pathname}#${id}`)).filter(([name]) => inputs.has(name));
    return { source, id, typed: bare(typed) };
  });
  if (sources.some(({ typed }) => Object.keys(typed).length)) await fetchCore();
  const filled = sources.map(({ source, id, typed }) => {
    const texts = inText(source.dataset.calculator ?? "", typed);
    if (!texts) throw new Error("rows without the core");
    return { source, id, texts };
  });
  const lines = filled.flatMap(({ id, texts }) => Object.entries(texts).map(([name, text]) => line(id, name, text)));
  if (sheet && lines.length) fillFromSheet(card, lines);
  else for (const { source, texts } of filled) if (Object.keys(texts).length) fillSource(source, texts);
  if (filled.length) page.hash = hashOf(filled.flatMap(({ id, texts }) => toAddress(id, texts)));
  await drawCode(the(".card-code", card), page);
}

/** @param {HTMLElement} source */
const inputsOf = (source) => new Set(all("[data-input]", source).map((place) => place.dataset.input));

/**
 * @param {HTMLElement} code
 * @param {URL} page where it leads
 */
async function drawCode(code, page) {
  if (page.href === code.dataset.leads) return;
  const picture = the(".card-qr", code);
  code.hidden = true; // never the author's code beside the reader's values
  try {
    picture.innerHTML = await drawn(page.href);
    if (!picture.innerHTML) { // more was typed than fits a code that a camera reads
      page.hash = "";
      picture.innerHTML = await drawn(page.href);
      the("figcaption", code).textContent = "The page, without what was typed";
    }
    code.hidden = false;
  } catch (error) { console.error(error); }
}

/**
 * @param {HTMLElement} source
 * @param {Texts} typed
 */
function fillSource(source, typed) {
  const { id = "", calculator = "", inputs = "" } = source.dataset;
  /** @type {Texts} */
  const values = bare(inputs.split("\n").filter(Boolean).map((line) => [line.split("=", 1)[0], line.slice(line.indexOf("=") + 1)]));
  Object.assign(values, typed);
  for (const place of all("[data-input]", source)) {
    const { input = "", when } = place.dataset, value = values[input] ?? "";
    if (input in typed) the("b", place).textContent = value;
    const [other, wanted = ""] = when?.split("=") ?? [];
    const asked = !when || !(other in values) || wanted.split("|").includes(values[other]);
    if (input in typed || !asked) place.hidden = !value || !asked;
  }
  showAnswer(source, make("div", { innerHTML: workOut(calculator, id, values) }));
}

/**
 * A card of a page with a run: what differs from the author's sheet is put in its place.
 * @param {HTMLElement} card
 * @param {string[]} lines
 */
function fillFromSheet(card, lines) {
  /** @param {string} id */
  const its = (id) => all(".card-source", card).find((one) => one.dataset.id === id);
  /** @param {string} id @param {string} name @param {string} text */
  const write = (id, name, text) => {
    const source = its(id), place = source && all("[data-input]", source).find((one) => one.dataset.input === name);
    if (!place) return;
    the("b", place).textContent = text;
    if (text) place.hidden = false;
  };
  for (const [kind, key, text = "", tolerance = ""] of differing(lines)) {
    const [id, name = ""] = key.split("."), source = its(kind === "trouble" ? "run" : key);
    if (kind === "result" && source) showAnswer(source, make("div", { innerHTML: text }));
    else if (kind === "drawn") write(id, name, text);
    else if (kind === "number") sheet?.show(key, text, tolerance);
    else if (kind === "trouble" && text) source?.append(make("p", { className: "problem", textContent: text }));
  }
  for (const one of lines) {
    const [id, name = "", text = ""] = one.split("\t");
    write(id, name, text);
  }
}

/**
 * What differs from the author's sheet; where the core cannot say, everything: nothing that was
 * worked out for other values stands beside these.
 * @param {string[]} lines
 * @returns {import("./sheet.js").Record[]}
 */
function differing(lines) {
  if (core) return sheet?.differences(lines) ?? [];
  const results = all(".card-source").map(({ dataset: { id = "" } }) => ["result", id, failure()]);
  return [...results, ...sheet?.places.map(({ dataset: { number = "" } }) => ["number", number, "–"]) ?? []];
}

/**
 * @param {HTMLElement} source
 * @param {HTMLElement} result
 */
function showAnswer(source, result) {
  for (const figure of all("[data-result]", source)) {
    const found = result.querySelector(`[data-result="${CSS.escape(figure.dataset.result ?? "")}"] dd`);
    the("dd", figure).replaceChildren(...found?.childNodes ?? ["–"]);
  }
  // Values that are refused take no caution away: the printed ones stay beside the refusal.
  const warnings = source.querySelector(".card-warnings") ?? source, refused = all(".problem", result);
  if (refused.length) warnings.prepend(...refused);
  else if (warnings !== source) warnings.replaceChildren(...all(source.hasAttribute("data-dangers-only") ? '[data-level="danger"]' : ".caution", result));
}
