// The calculators of a page: each reads its form, asks the core, shows the answer.

import { fromAddress, hashOf, toAddress } from "./address.js";
import { fromLines } from "./cells.js";
import { awaitCore, core, drawn, failure, fetchCore, inText, missing, touched, workOut } from "./core.js";
import { keep, kept } from "./device.js";
import { part, say } from "./notices.js";
import { all, html, make, the } from "./page.js";
import { builtRows, cellsIn, isRows, moveRow, numberRows, readRows, rowsIn, writeRows } from "./rows.js";
import { line, sheet } from "./sheet.js";
import { bare, clean, differences } from "./values.js";
import { addWhatIf } from "./what-if.js";

/** @typedef {import("./values.js").Values} Values */
/** @typedef {import("./values.js").Texts} Texts */
/** @typedef {import("./rows.js").Box | HTMLFieldSetElement} Field */

/** @type {Calculator[]} */
export const calculators = [];

/** One calculator of the page. */
export class Calculator {
  /** @param {HTMLElement} block */
  constructor(block) {
    this.block = block;
    this.name = block.dataset.calculator ?? "";
    /** @type {HTMLFormElement} */
    this.form = the(".calc-form", block);
    /** @type {HTMLFieldSetElement} */
    this.fieldset = the(".calc-fields", this.form);
    this.result = the(".calc-result", block);
    this.result.setAttribute("aria-live", "off"); // the status line says the main figure instead
    this.built = [...this.result.childNodes];
    this.place = `${location.pathname}#${block.id}`;
    /** @type {Field[]} */
    const fields = all("input[name], select[name], [data-rows]", this.form);
    this.fields = new Map(fields.map((field) => [field.name, field]));
    this.author = bare(fields.map((field) => [field.name, isRows(field) ? builtRows(field) : field.dataset.author ?? ""]));
    /** The same as built: what draws on the run gets other values. */
    this.asBuilt = bare(Object.entries(this.author));
    /** The author's values as texts: rows are not written as their author wrote them. */
    this.written = bare(fields.map((field) => [field.name, field.dataset.author ?? ""]));
    this.asWritten = bare(Object.entries(this.written));
    /**
     * Rows written as texts, which wait for the core to part them.
     * @type {Map<string, string>}
     */
    this.unparted = new Map();
    /** @type {number | null} */
    this.waiting = null;
    this.picture = make("div", { className: "code" });
    this.shared = make("div", { className: "shared", hidden: true });
    this.listen();
    for (const field of fields) if (isRows(field)) numberRows(field);
    this.folded = this.form.querySelector(".drawn");
    for (const field of this.drawnFields()) this.addDrawAgain(field);
    this.addTools();
    addWhatIf(this);
    this.open();
  }

  listen() {
    for (const touch of ["focusin", "pointerdown", "input"]) this.form.addEventListener(touch, touched);
    // What is typed takes the place of what a field holds.
    this.form.addEventListener("focusin", ({ target }) => {
      // A finger sets the caret after the focus, so the choice waits for it.
      if (target instanceof HTMLInputElement && target.type === "text") setTimeout(() => target.select());
    });
    this.form.addEventListener("input", () => this.changed());
    this.form.addEventListener("submit", (event) => event.preventDefault());
    this.form.addEventListener("reset", (event) => {
      event.preventDefault();
      this.fill({});
      this.changed();
      say("Back to the author’s values");
    });
    this.form.addEventListener("click", ({ target }) => {
      const button = target instanceof Element ? target.closest("[data-move]") : null;
      if (button instanceof HTMLElement && moveRow(button)) this.changed();
    });
  }

  // As built, a form is closed: its result stands for the values that stand in
  // it. It is open while a script runs that can answer for others.
  open() {
    this.fieldset.disabled = false;
    the(".calc-closed", this.form).hidden = true;
  }

  // Back to what was built, and closed: nobody is there to work out other values.
  // What the reader typed stays on the device and in the address.
  close() {
    Object.assign(this.author, this.asBuilt);
    Object.assign(this.written, this.asWritten);
    this.fill({});
    this.showDrawn();
    this.result.setAttribute("aria-busy", "false");
    this.result.replaceChildren(...this.built);
    this.showProblems();
    this.fieldset.disabled = true;
    the(".calc-closed", this.form).hidden = false;
  }

  /**
   * Fills the form; what is not given gets the author's value.
   * @param {Values} values
   */
  fill(values) {
    this.unparted.clear();
    for (const [name, field] of this.fields) this.write(name, field, values[name] ?? this.author[name]);
    this.showFields();
  }

  /**
   * @param {string} name
   * @param {Field} field
   * @param {string | string[][]} value
   */
  write(name, field, value) {
    if (!isRows(field)) {
      field.value = typeof value === "string" ? value : "";
      return;
    }
    const text = typeof value === "string";
    if (text && !core) this.unparted.set(name, value);
    else writeRows(field, text ? fromLines(core?.cells(this.name, name, value) ?? "") : value);
    field.disabled = this.unparted.has(name);
  }

  // Fields that depend on another's value: data-when="gauge=dial|open-manometer"
  showFields() {
    for (const field of all("[data-when]", this.form)) {
      const [name, wanted] = (field.dataset.when ?? "").split("="), other = this.fields.get(name);
      field.hidden = !other || isRows(other) || !wanted.split("|").includes(other.value);
    }
  }

  /**
   * What stands in the form, hidden fields included.
   * @returns {Values}
   */
  values() {
    return bare([...this.fields].map(([name, field]) =>
      [name, this.unparted.get(name) ?? (isRows(field) ? readRows(field) : field.value.trim())]));
  }

  /** What the core is asked, once it is there. */
  inputs() {
    const values = inText(this.name, this.values()) ?? {};
    return bare([...this.fields]
      .filter(([, field]) => !field.closest("[hidden]"))
      // When every row was emptied, that is said: left out, the core would take its own rows.
      .map(([name, field]) => [name, values[name] || (isRows(field) && this.author[name].length ? ";" : "")]));
  }

  /** What differs from the author's values. */
  differences() {
    return differences(this.values(), this.author);
  }

  /** Whether anything does. */
  differs() {
    return Object.keys(this.differences()).length > 0;
  }

  /** The fields that draw on the run or on other results, folded into one line. */
  drawnFields() {
    return this.folded ? all(".field[data-drawn]", this.folded) : [];
  }

  /**
   * An input that draws on the run follows it until something else is typed, and
   * again when its reader says so.
   * @param {HTMLElement} field
   */
  addDrawAgain(field) {
    const name = field.dataset.input ?? "", its = this.fields.get(name);
    const button = make("button", { type: "button", className: "draw-again", textContent: "As the run has it", hidden: true });
    button.onclick = () => {
      if (its) this.write(name, its, this.author[name]);
      this.changed();
    };
    field.append(button);
  }

  /**
   * The run gives an input another value.
   * @param {string} name
   * @param {string} text
   */
  follow(name, text) {
    const field = this.fields.get(name);
    if (!field) return;
    const own = name in this.differences();
    // Rows are compared as rows, or what was drawn would count as typed.
    this.author[name] = isRows(field) ? fromLines(core?.cells(this.name, name, text) ?? "") : text;
    if (!own) this.write(name, field, this.author[name]);
    if (!own && isRows(field)) this.author[name] = readRows(field);
    this.written[name] = text;
    this.showDrawn();
  }

  showDrawn() {
    const own = this.differences(), fields = this.drawnFields();
    for (const field of fields) the(".draw-again", field).hidden = !((field.dataset.input ?? "") in own);
    const values = inText(this.name, this.values()) ?? this.values();
    const text = (/** @type {string} */ name) => name in own ? values[name] : this.written[name];
    const given = this.folded ? all(".field[data-given]", this.folded) : [];
    const texts = given.filter((field) => !field.hidden).map((field) => text(field.dataset.input ?? ""));
    if (this.folded) the(".drawn-values", this.folded).textContent = texts.filter(Boolean).join(", ");
    this.folded?.classList.toggle("own", fields.some((field) => (field.dataset.input ?? "") in own));
  }

  /** What was typed, as the sheet takes it; null while only the core could write it. */
  typed() {
    const texts = inText(this.name, this.differences());
    // When every row was emptied, that is said: left out, the core would take its own rows.
    const emptied = (/** @type {string} */ name) => this.fields.get(name)?.matches("[data-rows]");
    return texts && Object.entries(texts).map(([name, text]) => line(this.block.id, name, text || (emptied(name) ? ";" : "")));
  }

  // Many events before one frame cost one calculation, done in that frame.
  changed() {
    this.showFields();
    this.waiting ??= requestAnimationFrame(() => {
      this.waiting = null;
      this.compute();
      this.remember();
    });
  }

  // What the builder worked out stands beside the author's values only: until
  // the core is there others wait, and without it the form is closed.
  compute() {
    if (sheet) {
      computeSheet(this);
      return;
    }
    const { block, result } = this, waits = core || this.differs();
    result.setAttribute("aria-busy", String(Boolean(waits && !core && !missing)));
    if (!core) {
      if (waits) fetchCore();
      return;
    }
    this.show(workOut(this.name, block.id, this.inputs()));
    this.drawCode();
    this.announce();
  }

  /**
   * Puts an answer in its place; what was unfolded stays so.
   * @param {string} answer
   */
  show(answer) {
    if (!this.name) return; // the run's own figures are numbers of the sheet
    /** @param {Element} details */
    const label = (details) => details.querySelector("summary")?.textContent;
    const open = new Set(all("details[open]", this.result).map(label));
    this.result.innerHTML = answer;
    /** @type {HTMLDetailsElement[]} */
    const shown = all("details", this.result);
    for (const details of shown) details.open = open.has(label(details));
    this.showProblems();
  }

  announce() {
    const main = this.result.querySelector(".problem, .figure.main");
    say(main ? [...main.childNodes].map((part) => part.textContent).join(" ") : "", 900);
  }

  // The core is there: rows that waited for it are parted.
  arrived() {
    const waited = [...this.unparted];
    this.unparted.clear();
    for (const [name, text] of waited) {
      const field = this.fields.get(name);
      if (field) this.write(name, field, text);
    }
    if (!sheet && this.differs()) this.compute();
  }

  failed() {
    this.close();
  }

  // A refusal stands at its field as well. One of a cell is for "spots 2 rf":
  // the field, the row among those that are filled, the column.
  showProblems() {
    const problems = all(".problem", this.result).map((p) => ({ text: p.textContent, place: (p.dataset.for ?? "").split(" ") }));
    for (const [name, field] of this.fields) {
      const its = problems.filter(({ place }) => place[0] === name);
      const filled = rowsIn(field).filter((row) => cellsIn(row).some((cell) => cell.value.trim()));
      const cells = isRows(field) ? rowsIn(field).flatMap(cellsIn) : [field];
      const wrong = its.map(({ place: [, row, column] }) =>
        filled[Number(row) - 1]?.querySelector(`[data-column="${column}"]`) ?? cells[0]);
      this.problemAt(name, its.map(({ text }) => text).join(" "), cells, wrong);
    }
  }

  /**
   * Says at a field what is wrong with it, or nothing.
   * @param {string} name
   * @param {string} text
   * @param {Element[]} cells its boxes
   * @param {Element[]} wrong those to blame
   */
  problemAt(name, text, cells, wrong) {
    /** @type {HTMLElement | null | undefined} */
    const words = this.fields.get(name)?.closest(".field")?.querySelector(".field-problem");
    if (words) {
      words.id = `${this.block.id}-${name}-problem`;
      words.textContent = text;
      words.hidden = !text;
    }
    for (const cell of cells) {
      if (wrong.includes(cell)) cell.setAttribute("aria-invalid", "true");
      else cell.removeAttribute("aria-invalid");
      if (words) cell.setAttribute("aria-errormessage", words.id);
    }
  }

  /**
   * Why a value of the run is refused, or nothing.
   * @param {string} name
   * @param {string} sentence
   */
  trouble(name, sentence) {
    const field = this.fields.get(name);
    if (field) this.problemAt(name, sentence, [field], sentence ? [field] : []);
  }

  remember() {
    keep(this.place, this.differs() ? this.differences() : null);
    clearTimeout(addressing);
    addressing = setTimeout(writeAddress, 250);
  }

  /** What of this calculator stands in the address; null while only the core could write it. */
  pairs() {
    const texts = inText(this.name, this.differences());
    return texts && toAddress(this.block.id, texts);
  }

  // A link to this page with what was typed into this calculator, or into any that
  // shares its sheet, blanks included. The page has the author's values by itself, and the shorter the
  // link, the coarser and surer its code.
  link() {
    const link = new URL(location.href);
    link.hash = hashOf((sheet ? calculators : [this]).flatMap((one) => one.pairs() ?? []));
    return link.href;
  }

  // Handing over copies the link and shows it as a code that another phone's
  // camera takes; the code follows what is typed.
  addTools() {
    const words = make("p"), button = make("button", { type: "button", textContent: "Hand over this set-up" });
    const { shared } = this;
    shared.append(words, this.picture);
    button.setAttribute("aria-expanded", "false");
    button.onclick = async () => {
      shared.hidden = !shared.hidden;
      button.setAttribute("aria-expanded", String(!shared.hidden));
      if (shared.hidden) return;
      if (!this.pairs()) await fetchCore();
      this.drawCode();
      try {
        await navigator.clipboard.writeText(this.link());
        words.textContent = "Another phone’s camera can take these values from the code. The link is copied too.";
      } catch {
        history.replaceState(null, "", this.link());
        words.textContent = "Another phone’s camera can take these values from the code. The address bar has the link too.";
      }
      say(words.textContent);
    };
    const tools = make("div", { className: "calc-tools" }), reset = the('[type="reset"]', this.form);
    reset.replaceWith(tools);
    tools.append(reset, button, shared);
  }

  async drawCode() {
    if (this.shared.hidden) return;
    const link = this.link();
    const code = await drawn(link).catch(() => "<p>The code could not be drawn. The link holds the values as well.</p>");
    if (link !== this.link()) return; // more was typed meanwhile, and its code is on the way
    this.picture.innerHTML = code || "<p>These values are too many for a code. The link holds them all.</p>";
  }
}

/**
 * Works out the sheet of the page with all that is typed, and puts what differs in its place.
 * @param {Calculator} [asked] where it was typed
 */
function computeSheet(asked) {
  for (const one of calculators) one.showDrawn();
  const waits = !core && !missing && calculators.some((one) => one.differs());
  for (const one of calculators) one.result.setAttribute("aria-busy", String(waits));
  if (!core) {
    if (waits) fetchCore();
    return;
  }
  try {
    const typed = calculators.flatMap((one) => one.typed() ?? []);
    for (const record of sheet?.differences(typed) ?? []) putInPlace(record);
  } catch (error) {
    console.error(error);
    for (const one of calculators) one.show(failure());
  }
  for (const one of calculators) one.drawCode();
  asked?.announce();
}

/** @param {import("./sheet.js").Record} record */
function putInPlace([kind, key, text = "", tolerance = ""]) {
  /** @param {string} id */
  const its = (id) => calculators.find((one) => one.block.id === id);
  const [id, name = ""] = key.split(".");
  if (kind === "result") its(key)?.show(text);
  else if (kind === "drawn") its(id)?.follow(name, text);
  else if (kind === "number") sheet?.show(key, text, tolerance);
  else if (kind === "trouble") its("run")?.trouble(key, text);
}

/** @type {number | undefined} */
let addressing;

function writeAddress() {
  if (missing) return; // what came with the address is not in the forms, and must not be lost
  const pairs = calculators.map((one) => one.pairs());
  if (pairs.includes(null)) return; // rows wait for the core, which calls again
  const written = pairs.flatMap((one) => one ?? []);
  if (written.length) history.replaceState(null, "", "#" + hashOf(written));
  else if (location.hash.startsWith("#set:") && location.hash !== "#set:") history.replaceState(null, "", location.pathname + location.search);
}

/**
 * The reader's values for a block: those of the address, which speaks for the
 * whole page, else those kept on the device.
 * @param {Map<string, Texts> | null} given
 * @param {string} id
 * @param {string} place
 */
export const own = (given, id, place) => clean(given ? given.get(id) : kept(place));

/**
 * The address comes first, then the device, then the author.
 * @param {Map<string, Texts> | null} given
 */
function restore(given) {
  for (const one of calculators) {
    const values = own(given, one.block.id, one.place);
    if (!Object.keys(values).length && !one.differs()) continue;
    one.fill(values);
    if (!sheet) one.compute();
  }
  if (sheet && (core || calculators.some((one) => one.differs()))) computeSheet();
}

/** Another address of the page that is open: a link or a code that was taken. */
function addressChanged() {
  const given = fromAddress(location.hash);
  if (!given) return;
  for (const one of calculators) if (given.has(one.block.id)) keep(one.place, given.get(one.block.id));
  if (missing) return;
  restore(given);
  calculators.find((one) => given.has(one.block.id))?.block.scrollIntoView();
}

/** Starts all calculators of the page, with what was typed before. */
export function startCalculators() {
  for (const block of all(".calculator")) {
    const one = part("A calculator", () => new Calculator(block));
    if (one) calculators.push(one);
  }
  awaitCore({
    arrived() {
      for (const one of calculators) one.arrived();
      if (sheet && calculators.some((one) => one.differs())) computeSheet();
      writeAddress();
    },
    failed() {
      sheet?.reset();
      for (const one of calculators) one.failed();
    },
  });
  if (!html.dataset.module) return;
  for (const one of calculators) one.showFields();
  part("What was typed before", () => restore(fromAddress(location.hash)));
  addEventListener("hashchange", addressChanged);
  addEventListener("pagehide", writeAddress);
}
