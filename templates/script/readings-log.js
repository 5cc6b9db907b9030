// The log of one block: its runs, the form for the next reading, what is said of
// each, and the ways out of the device. The core judges and draws.

import { calculators } from "./calculators.js";
import { core, fetchCore } from "./core.js";
import { notice, say } from "./notices.js";
import { all, html, make, root, the } from "./page.js";
import { columnsOf, forCore, fromExport, toCsv, toExport } from "./readings-file.js";
import { printReport } from "./readings-report.js";
import { askToKeep, changeRun, dropRun, outlives, putRun, runsOf } from "./readings-store.js";

/** @typedef {import("./readings-file.js").Run} Run */
/** @typedef {import("./readings-file.js").Entry} Entry */
/** @typedef {import("./readings-file.js").Column} Column */
/** @typedef {{ column: Column, box: HTMLInputElement }} Asked */

const MOST_BYTES = 5e6;
const KEPT = "Kept on this device only. Export it before the device is handed on.";
const NOT_KEPT = "This browser keeps nothing here (a private window?): the log lasts as long as this page. Export it before you leave.";

/** @param {string} iso */
const clockTime = (iso) => new Date(iso).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
/** @param {string} iso */
const day = (iso) => new Date(iso).toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });

/** @param {string} textContent @param {() => void} onclick @param {string} [className] */
const button = (textContent, onclick, className = "") => make("button", { type: "button", textContent, onclick, className });

/** @param {Column} column */
function box(column) {
  const name = make("span", { textContent: column.label });
  const rest = column.error ? `± ${column.error}` : column.unit;
  const input = make("input", { autocomplete: "off", spellcheck: false, name: column.name });
  if (column.kind !== "words") input.inputMode = "decimal";
  // A value that was offered gives way to the first key.
  input.onfocus = () => input.select();
  const label = make("label", {}, name, ...(rest ? [make("span", { className: "unit", textContent: rest })] : []), input);
  return { column, box: input, label };
}

/** The log of one block. */
export class Log {
  /** @param {HTMLElement} block */
  constructor(block) {
    this.block = block;
    this.spec = block.dataset.spec ?? "";
    this.page = location.pathname.slice(root.pathname.length);
    /** The id of the calculator that judges. */
    this.judgedBy = /^judge\t(.*)$/m.exec(this.spec)?.[1] ?? "";
    this.blank = the(".readings-blank", block);
    const columns = columnsOf(this.spec).map(box);
    /** @type {Asked[]} */
    this.once = columns.filter(({ column }) => column.how === "once");
    /** @type {Asked[]} */
    this.each = columns.filter(({ column }) => column.how !== "once");
    /** @type {Run[]} */
    this.runs = [];
    /** @type {Run | undefined} */
    this.run = undefined;
    /**
     * Ways back, the last first.
     * @type {{ words: string, back: () => Promise<unknown> }[]}
     */
    this.steps = [];
    /** @type {number | null} the reading that is being changed */
    this.changing = null;
    /** @type {string[]} */
    this.said = [];
    /** Whether something was typed that is no reading yet. */
    this.typed = false;

    this.choice = make("select", { onchange: () => this.show(this.choice.value) });
    this.called = make("input", { autocomplete: "off", onchange: () => this.alter("The name", (run) => { run.name = this.called.value.trim(); }) });
    this.add = make("button", { type: "submit", className: "log-add", textContent: "Add reading" });
    this.undo = button("Undo", () => this.stepBack(), "log-undo");
    this.drop = button("Delete this reading", () => this.remove(), "log-drop");
    this.leave = button("Leave it as it was", () => this.change(null), "log-leave");
    this.verdict = make("p", { className: "log-verdict" });
    this.result = make("div", { className: "log-result calc-result" });
    this.rows = make("tbody");
    this.kept = make("p", { className: "log-kept", textContent: KEPT });
    /** @param {{ label: HTMLLabelElement }} one */
    const label = (one) => one.label;
    const onceForm = make("div", { className: "log-once" }, ...columns.filter(({ column }) => column.how === "once").map(label));
    const form = make("form", { className: "log-form" }, ...columns.filter(({ column }) => column.how !== "once").map(label));
    form.append(this.add, make("div", { className: "log-steps" }, this.undo, this.drop, this.leave));
    form.onsubmit = (event) => { event.preventDefault(); this.enter(); };
    form.addEventListener("input", () => { this.typed = true; });
    for (const { column, box } of this.once) {
      box.onchange = () => {
        const text = box.value.trim();
        this.alter(column.label, (run) => { run.once[column.name] = text; });
      };
    }
    const heads = ["No.", "Time", ...this.each.map(({ column }) => column.label), "Verdict", ""];
    const table = make("table", { className: "log-table" },
      make("thead", {}, make("tr", {}, ...heads.map((text) => (text ? make("th", { scope: "col", textContent: text }) : make("td"))))), this.rows);
    this.panel = make("div", { className: "log" },
      make("div", { className: "log-run" },
        make("label", {}, make("span", { textContent: "Run" }), this.choice),
        make("label", {}, make("span", { textContent: "Called" }), this.called),
        button("New run", () => this.begin())),
      onceForm, form, this.verdict, this.result,
      make("div", { className: "log-wide", tabIndex: 0 }, table),
      this.tools(), this.kept);
    this.blank.classList.add("paper-only");
    this.block.append(this.panel);
    this.block.addEventListener("focusin", () => fetchCore(), { once: true });
    // Whatever else of the page is changed may change what is expected.
    document.addEventListener("input", ({ target }) => {
      if (target instanceof Node && !this.block.contains(target)) setTimeout(() => this.judge(), 250);
    });
    // Another window may have added to the run meanwhile.
    document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") this.load(this.run?.id); });
    this.load();
  }

  /** The calculators whose values say what is expected. */
  drawsOn() {
    const needs = (this.block.dataset.needs ?? "").split(" ");
    return calculators.filter((one) => needs.includes(one.block.id));
  }

  /** What those are given now, as the core reads it. */
  sheet() {
    return this.drawsOn().map((one) => [`@${one.block.id}\t${one.name}`,
      ...Object.entries(one.inputs()).filter(([, value]) => value).map(([name, value]) => `${name}=${value}`)].join("\n")).join("\n");
  }

  tools() {
    const file = make("input", { type: "file", accept: ".json,application/json", onchange: () => this.restore(file) });
    return make("div", { className: "log-tools" },
      button("Print the report sheet", () => this.report(), "log-report"),
      button("Export (JSON)", () => this.save("json"), "log-json"),
      button("Table (CSV)", () => this.save("csv"), "log-csv"),
      make("label", { className: "log-restore" }, "Restore an export ", file),
      button("Delete this run", () => this.dropRun(), "log-drop-run"),
      make("a", { href: html.dataset.base + "class/", textContent: "The class side by side" }));
  }

  /** @param {string} [id] the run to show; else the newest */
  async load(id) {
    this.runs = await runsOf(this.page, this.block.id).catch(() => this.runs);
    if (!await outlives()) this.kept.textContent = NOT_KEPT;
    this.show(id ?? this.runs[0]?.id);
  }

  /** @param {string | undefined} id */
  show(id) {
    this.run = this.runs.find((run) => run.id === id) ?? this.runs[0];
    const { run } = this;
    this.choice.replaceChildren(...this.runs.map((one) => make("option", {
      value: one.id, textContent: `${one.name || "Run"}, ${day(one.begun)} ${clockTime(one.begun)}`, selected: one === run })));
    this.choice.disabled = !run;
    this.called.value = run?.name ?? "";
    this.called.disabled = !run;
    for (const { column, box } of this.once) box.value = run?.once[column.name] ?? "";
    if (!this.typed) this.offer();
    this.fillRows();
    if (run?.entries.length) fetchCore().then(() => this.judge());
    else this.judge();
  }

  /** Offers the last values; what is weighed or remarked is new each time. */
  offer() {
    this.typed = false;
    const { changing } = this, entries = this.run?.entries ?? [];
    const from = changing === null ? entries.at(-1) : entries[changing];
    for (const { column, box } of this.each) {
      const again = changing !== null || (column.how !== "sum" && column.kind !== "words");
      box.value = again ? from?.cells[column.name] ?? "" : "";
    }
    this.add.textContent = changing === null ? "Add reading" : `Save reading ${changing + 1}`;
    this.drop.hidden = this.leave.hidden = changing === null;
    this.undo.hidden = changing !== null || !this.steps.length;
    this.undo.textContent = this.steps.length ? `Undo: ${this.steps[0].words}` : "Undo";
  }

  /** A reading is added or changed, and is on the device before it is said. */
  async enter() {
    const cells = Object.fromEntries(this.each.map(({ column, box }) => [column.name, box.value.trim()]).filter(([, text]) => text));
    if (!Object.keys(cells).length) {
      this.verdict.textContent = "Nothing was typed.";
      return;
    }
    this.typed = false;
    const { changing } = this, first = !this.run?.entries.length;
    if (changing === null) {
      if (!this.run) await this.begin();
      const entry = { at: new Date().toISOString(), cells };
      await this.alter("a reading", (run) => { run.entries.push(entry); }, (run) => { run.entries = run.entries.filter((one) => one.at !== entry.at); });
    } else {
      const before = this.run?.entries[changing];
      this.changing = null;
      await this.alter(`reading ${changing + 1} changed`, (run) => { run.entries[changing].cells = cells; },
        (run) => { if (before) run.entries[changing].cells = before.cells; });
    }
    if (first && await outlives() && !await askToKeep()) {
      this.kept.textContent = KEPT + " The browser may clear it when the device runs short of room.";
    }
  }

  /**
   * Changes the run on the device. Where it cannot be kept, it stays in the page and that is said.
   * @param {string} words what is changed
   * @param {(run: Run) => void} change
   * @param {(run: Run) => void} [back]
   */
  async alter(words, change, back) {
    if (!this.run) await this.begin();
    const { run } = this;
    if (!run) return;
    const before = structuredClone(run), sheet = this.sheet();
    /** @param {Run} one */
    const all = (one) => { change(one); one.sheet = sheet; };
    const undo = back ?? ((/** @type {Run} */ one) => { one.name = before.name; one.once = before.once; });
    this.steps.unshift({ words, back: () => this.write(run, undo) });
    await this.write(run, all);
  }

  /**
   * @param {Run} run
   * @param {(run: Run) => void} change
   */
  async write(run, change) {
    try {
      const changed = await changeRun(run.id, change);
      if (!changed) throw new Error("the run is gone");
      Object.assign(run, changed);
    } catch (error) {
      console.error(error);
      change(run);
      this.kept.textContent = "The last change could not be kept on this device (is it full?). It is on this page only: export it now.";
      notice("A reading could not be kept on this device. It is on this page only.", "Export it", () => this.save("json"));
    }
    this.show(run.id);
  }

  async stepBack() {
    const step = this.steps.shift();
    if (!step) return;
    await step.back();
    this.offer();
    say(`Undone: ${step.words}`);
  }

  async begin() {
    const begun = new Date().toISOString();
    /** @type {Run} */
    const run = {
      id: `${begun} ${Math.random().toString(36).slice(2)}`, page: this.page, block: this.block.id,
      title: document.querySelector("h1")?.textContent ?? "", name: "", begun,
      spec: this.spec, sheet: this.sheet(), once: {}, entries: [],
    };
    await this.take(run);
  }

  /** @param {Run} run a new one */
  async take(run) {
    await putRun(run).catch((error) => {
      console.error(error);
      this.kept.textContent = NOT_KEPT;
    });
    this.runs.unshift(run);
    this.steps = [];
    this.changing = null;
    this.show(run.id);
  }

  /** @param {number | null} index */
  change(index) {
    this.changing = index;
    this.offer();
    if (index !== null) this.each[0]?.box.focus();
  }

  remove() {
    const { changing: index, run } = this;
    if (index === null || !run) return;
    const entry = run.entries[index];
    notice(`Delete reading ${index + 1}?`, "Delete it", () => {
      this.changing = null;
      this.alter(`reading ${index + 1} deleted`, (one) => { one.entries.splice(index, 1); }, (one) => { one.entries.splice(index, 0, entry); });
    });
  }

  dropRun() {
    const { run } = this;
    if (!run) return;
    notice(`Delete the run ${run.name || day(run.begun)} with ${run.entries.length} readings?`, "Delete it", async () => {
      await dropRun(run.id);
      this.runs = this.runs.filter((one) => one !== run);
      this.steps = [{ words: "run deleted", back: () => this.take(run) }];
      this.show(undefined);
    });
  }

  /** Has the core judge all readings by what the page expects now. */
  judge() {
    const { run } = this, there = core;
    this.blank.hidden = Boolean(run?.entries.length);
    this.result.hidden = this.verdict.hidden = !run?.entries.length || !there;
    if (!run || !there || this.result.hidden) return;
    const sheet = this.sheet(), { once, rows } = forCore({ ...run, spec: this.spec });
    try {
      this.result.innerHTML = there.log(this.spec, sheet, once, rows, this.block.id, html.dataset.base ?? "");
    } catch {
      this.result.innerHTML = "<p class=\"problem\">The readings could not be worked out. Load the page again.</p>";
      return;
    }
    const judged = all(".judged > li", this.result);
    this.said = judged.map((one) => one.textContent);
    judged[0]?.parentElement?.remove();
    judged.forEach((one, index) => {
      const cell = this.rows.querySelector(`[data-entry="${index}"] .log-said`);
      if (!(cell instanceof HTMLElement)) return;
      cell.dataset.verdict = one.dataset.verdict;
      cell.textContent = one.textContent;
    });
    const last = judged.at(-1);
    this.verdict.textContent = last ? `Reading ${judged.length}: ${last.textContent || "noted."}` : "";
    this.verdict.dataset.verdict = last?.dataset.verdict ?? "";
    say(this.verdict.textContent);
  }

  /** The readings as a table, the newest on top. */
  fillRows() {
    const rows = (this.run?.entries ?? []).map((entry, index) => {
      /** @param {string} textContent @param {string} head */
      const cell = (textContent, head) => {
        const made = make("td", { textContent });
        made.dataset.head = head;
        return made;
      };
      const said = cell("", "Verdict");
      said.className = "log-said";
      const row = make("tr", {}, make("th", { scope: "row", textContent: String(index + 1) }), cell(clockTime(entry.at), "Time"),
        ...this.each.map(({ column }) => cell(entry.cells[column.name] ?? "", [column.label, column.unit].filter(Boolean).join(" / "))),
        said, make("td", {}, button("Change", () => this.change(index), "log-change")));
      row.dataset.entry = String(index);
      return row;
    });
    this.rows.replaceChildren(...rows.reverse());
  }

  /** @param {"json" | "csv"} how */
  save(how) {
    const { run } = this;
    if (!run) return;
    const text = how === "json" ? toExport(run) : toCsv(run, this.said);
    const name = `${run.name || this.page.split("/").filter(Boolean).at(-1) || "run"} ${run.begun.slice(0, 10)}.${how}`;
    const link = make("a", { href: URL.createObjectURL(new Blob([text], { type: how === "json" ? "application/json" : "text/csv" })), download: name.replace(/[^\p{L}\p{N} .-]+/gu, "-") });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  /** @param {HTMLInputElement} file */
  async restore(file) {
    const [chosen] = file.files ?? [];
    if (!chosen) return;
    try {
      if (chosen.size > MOST_BYTES) throw new Error("it is longer than any log");
      const read = fromExport(await chosen.text());
      if (read.page !== this.page || read.block !== this.block.id) throw new Error(`it belongs to “${read.title.slice(0, 80)}”: open that page and restore it there`);
      await this.take({ ...read, id: `${new Date().toISOString()} ${Math.random().toString(36).slice(2)}` });
      this.verdict.hidden = false;
      say(`${read.entries.length} readings restored`);
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      notice(`${chosen.name} was not taken: ${why}. Nothing was changed.`, "All right", () => {});
    }
    file.value = "";
  }

  async report() {
    await fetchCore();
    this.judge();
    printReport(this);
  }
}
