// What if: an input swept by touch or keys while result and plot follow, and a
// result asked backwards. How far an input may be swept, and which value gives a
// wanted result, is the core's to say.

import { core, fetchCore, filledLines, inText } from "./core.js";
import { say } from "./notices.js";
import { all, make } from "./page.js";

/** @typedef {import("./calculators.js").Calculator} Calculator */

/**
 * An input that may be swept: its field, the calculator and input that say how far, its label.
 * @typedef {{ name: string, calculator: string, input: string, label: string, place: number }} Swept
 */

const STEPS = 400;

/**
 * Folded under the result; filled when it is unfolded, for that takes the core.
 * @param {Calculator} calculator
 */
export function addWhatIf(calculator) {
  const details = make("details", { className: "what-if" }, make("summary", { textContent: "What if …?" }));
  details.addEventListener("toggle", async () => {
    if (!details.open) return;
    await fetchCore();
    for (const part of all(":scope > div", details)) part.remove();
    if (!core) return;
    const swept = sweepable(calculator);
    if (!swept.length) {
      details.append(make("div", {}, "Nothing here can be swept."));
      return;
    }
    details.append(slider(calculator, swept));
    if (calculator.name) details.append(question(calculator, swept));
  });
  calculator.block.append(details);
}

/**
 * @param {Calculator} calculator
 * @returns {Swept[]}
 */
function sweepable(calculator) {
  const lines = Object.entries(inText(calculator.name, calculator.values()) ?? {}).map(([key, text]) => `${key}=${text}`).join("\n");
  /** @param {string} of @param {string} inputs */
  const sweeps = (of, inputs) => (core?.sweeps(of, inputs) ?? "").split("\n").filter(Boolean).map((line) => line.split("\t"));
  if (calculator.name) {
    return sweeps(calculator.name, lines)
      .filter(([name]) => !calculator.fields.get(name)?.closest("[hidden]"))
      .map(([name, label, place]) => ({ name, calculator: calculator.name, input: name, label, place: Number(place) }));
  }
  // A value of the run takes what the first input that draws on it takes.
  return [...calculator.fields].flatMap(([name, field]) => {
    const [of = "", input = ""] = (field.dataset.as ?? "").split(" ");
    const found = sweeps(of, `${input}=${calculator.values()[name]}`).find(([its]) => its === input);
    const label = field.closest(".field")?.querySelector("label")?.textContent ?? name;
    return found ? [{ name, calculator: of, input, label, place: Number(found[2]) }] : [];
  });
}

/**
 * @param {Swept[]} swept
 * @param {string} label
 */
function chooser(swept, label) {
  const select = make("select", {}, ...swept.map(({ name, label: its }) => make("option", { value: name, textContent: its })));
  return { select, box: make("label", {}, label, select) };
}

/**
 * @param {Calculator} calculator
 * @param {Swept[]} swept
 */
function slider(calculator, swept) {
  const { select, box } = chooser(swept, "Slide ");
  const range = make("input", { type: "range", min: "0", max: String(STEPS) });
  const shown = make("output");
  let anchor = "", one = swept[0];
  const begin = () => {
    one = swept.find(({ name }) => name === select.value) ?? swept[0];
    anchor = String(calculator.values()[one.name] || calculator.fields.get(one.name)?.getAttribute("placeholder") || "");
    range.value = String(Math.round(one.place * STEPS));
    range.setAttribute("aria-label", one.label);
    shown.textContent = anchor;
  };
  select.onchange = begin;
  range.oninput = () => {
    const text = core?.swept(one.calculator, one.input, anchor, Number(range.value) / STEPS), field = calculator.fields.get(one.name);
    if (!text || !field) return;
    range.setAttribute("aria-valuetext", text);
    shown.textContent = text;
    calculator.write(one.name, field, text);
    calculator.changed();
  };
  begin();
  return make("div", { className: "sweep" }, box, range, shown);
}

/**
 * @param {Calculator} calculator
 * @param {Swept[]} swept
 */
function question(calculator, swept) {
  const { select, box } = chooser(swept, "Which ");
  const figures = all(".figure[data-result]", calculator.result).filter((figure) => /\d/.test(figure.querySelector("output")?.textContent ?? ""));
  const results = make("select", {}, ...figures.map((figure) => make("option", {
    value: figure.dataset.result ?? "",
    textContent: [figure.querySelector("dt")?.textContent, figure.querySelector(".unit")?.textContent].filter(Boolean).join(", "),
  })));
  const wanted = make("input", { inputMode: "decimal", autocomplete: "off" });
  const answer = make("p", { role: "status" });
  const button = make("button", { type: "button", textContent: "Find it" });
  button.onclick = () => {
    const found = core?.backwards(calculator.name, filledLines(calculator.inputs()), select.value, results.value, wanted.value) ?? "";
    const field = calculator.fields.get(select.value);
    if (found.startsWith("!") || !field) {
      answer.textContent = `${found.slice(1, 2).toUpperCase()}${found.slice(2)}.`;
      return;
    }
    answer.textContent = `${found}: it stands in the form now.`;
    calculator.write(select.value, field, found);
    calculator.changed();
    say(answer.textContent);
  };
  wanted.onkeydown = (event) => { if (event.key === "Enter") button.click(); };
  return make("div", { className: "backwards" }, box, make("label", {}, "gives ", results), make("label", {}, "of ", wanted), button, answer);
}
