// The manual's script, in reading order: what is kept on the device,
// appearance, the core, calculators, rows of inputs, words, steps and timers, tables,
// the bench card, working without a network. It knows no chemistry: every
// number comes from the core.

const html = document.documentElement;
const root = new URL(html.dataset.base || "./", location.href);
const all = (selector, within = document) => [...within.querySelectorAll(selector)];

function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

// What is kept on the device. It may be refused (private windows); then
// nothing is remembered and all else works.
const device = {
  get(key) {
    try { return JSON.parse(localStorage.getItem("forerun " + key)); } catch { return null; }
  },
  set(key, value) {
    try {
      if (value === null) localStorage.removeItem("forerun " + key);
      else localStorage.setItem("forerun " + key, JSON.stringify(value));
    } catch { /* not remembered */ }
  },
};

// Each part of the page fails alone, and says so: what is kept or comes with the
// address may be broken, and must not take the rest down.
function part(name, run) {
  try {
    return run();
  } catch (error) {
    console.error(name, error);
    notice(`${name} could not be started here; the rest of the page works.`, "Load again", () => location.reload());
    return undefined;
  }
}

// One quiet place where changes are said to a screen reader.
const status = make("p", { className: "visually-hidden", role: "status" });
document.body.append(status);
let speaking;
function say(text, wait = 0) {
  clearTimeout(speaking);
  if (wait) speaking = setTimeout(say, wait, text);
  else status.textContent = text; // at once, or the next result would come before it
}

// A notice lies over the foot of the window until one of its buttons is pressed.
function notice(text, action, run) {
  const button = (textContent, then) => make("button", { type: "button", textContent, onclick() { box.remove(); then?.(); } });
  const box = make("div", { className: "notice", role: "alert" },
    make("p", { textContent: text }), button(action, run), button("Not now"));
  document.body.append(box);
}

// Appearance and paper: a choice that is remembered and set on <html>.
function choice(name) {
  const select = document.querySelector(`select[name="${name}"]`);
  const value = device.get(name) ?? "";
  if (value) html.dataset[name] = value;
  if (!select) return;
  if (value) select.value = value;
  select.onchange = () => {
    html.dataset[name] = select.value;
    device.set(name, select.value || null);
  };
}
part("Appearance", () => choice("appearance"));
part("Size of paper", () => choice("paper"));
for (const button of all('[data-do="print"]')) button.onclick = () => print();

// The core: fetched once, only where a page has calculators. Every result is printed, so it comes when it is asked for: at the
// first touch of a form, at once where other values than the page's own wait for
// it, else when the browser has nothing to do. Where it cannot be had, forms close.
let core, coming, missing = false;
function fetchCore() {
  coming ??= loadCore(html.dataset).then(() => {
    for (const one of calculators) if (Object.keys(one.differences()).length) one.compute();
  }).catch((error) => {
    console.error(error);
    missing = true;
    for (const one of calculators) one.close();
    notice("The calculators could not be loaded: forms show the values of the page, and what was worked out for them.", "Try again", () => location.reload());
  });
  return coming;
}
function touched() {
  if (!coming) say("Fetching the calculators");
  fetchCore();
}
const at = (path) => new URL(path, document.baseURI).href;
async function fetched(path) {
  const answer = await fetch(at(path));
  if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
  return answer;
}
// Should the core ever fail, an old result must not stand beside new values.
const workOut = (...asked) => {
  try { return core.result(...asked); } catch {
    return `<p class="problem" data-for="">These values could not be worked out. ${missing ? "Load" : "Change one of them, or load"} the page again.</p>`;
  }
};
async function loadCore({ module, wasm, data }) {
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

// What draws codes: fetched when one is first asked for.
let drawing;
function drawn(text) {
  const [module, wasm] = html.dataset.code.split(" ");
  drawing ??= import(at(module))
    .then((glue) => glue.default({ module_or_path: at(wasm) }).then(() => glue))
    .catch((error) => { drawing = null; throw error; });
  return drawing.then((glue) => glue.qr(text));
}

// The names offered while one types: first column of the table that an input lists.
function listNames(text) {
  for (const name of new Set(all("input[list]").map((input) => input.getAttribute("list")))) {
    if (document.getElementById(name)) continue;
    const [, table = ""] = `\n${text}`.split(`\n[${name}]\n`);
    const lines = table.split("\n[")[0].split("\n").slice(1).filter(Boolean);
    document.body.append(make("datalist", { id: name }, ...lines.map((line) => make("option", { value: line.split("\t")[0] }))));
  }
}

// The state in the address: #set:ID.key=value&ID.key=value. It holds what
// differs from the author's values, and speaks for the whole page: what is not
// in it is as the author wrote it. Without #set: nothing is said.
function fromAddress() {
  if (!location.hash.startsWith("#set:")) return null;
  const found = new Map();
  for (const pair of location.hash.slice(5).split("&")) {
    const parts = /^([^.=]+)\.([^=]+)=(.*)$/.exec(pair);
    if (!parts) continue;
    try {
      const [id, key, value] = parts.slice(1).map(decodeURIComponent);
      if (!found.has(id)) found.set(id, bare());
      found.get(id)[key] = value;
    } catch { /* a broken escape: that one value is left out */ }
  }
  return found;
}

// An object with nothing of its own but what is put there: names that come with
// an address or from the device can then reach no property of the language.
const bare = (entries = []) => Object.assign(Object.create(null), Object.fromEntries(entries));

// The reader's values for a block: those of the address, which speaks for the
// whole page, else those kept on the device. Texts only, whatever was kept.
function own(given, id, place) {
  const values = (given ? given.get(id) : device.get(place)) ?? {};
  return bare(Object.entries(values)
    .filter(([key, value]) => key !== "__proto__" && typeof value === "string")
    // The core is handed lines of key=value: a line's end would begin another.
    .map(([key, value]) => [key, value.replace(/[\n\r\u2028\u2029]+/g, " ")]));
}
const toAddress = (id, values) => Object.entries(values)
  .map(([key, value]) => `${encodeURIComponent(id)}.${encodeURIComponent(key)}=${encodeURIComponent(value)}`);

// A calculator: reads its form, asks the core, shows the answer.
class Calculator {
  constructor(block) {
    this.block = block;
    this.form = block.querySelector(".calc-form");
    this.result = block.querySelector(".calc-result");
    this.result.setAttribute("aria-live", "off"); // the status line says the main figure instead
    this.built = [...this.result.childNodes];
    this.place = `${location.pathname}#${block.id}`;
    this.fields = new Map(all("input[name], select[name], [data-rows]", this.form)
      .map((field) => [field.getAttribute("name"), field]));
    this.author = Object.fromEntries([...this.fields]
      .map(([name, field]) => [name, asRead(field, field.dataset.author)]));

    for (const touch of ["focusin", "pointerdown", "input"]) this.form.addEventListener(touch, touched);
    this.form.addEventListener("input", () => this.changed());
    this.form.addEventListener("submit", (event) => event.preventDefault());
    this.form.addEventListener("reset", (event) => {
      event.preventDefault();
      this.fill({});
      this.changed();
      say("Back to the author’s values");
    });
    this.form.addEventListener("click", ({ target }) => {
      const button = target.closest("[data-move]");
      if (button && moveRow(button)) this.changed();
    });
    for (const rows of all("[data-rows]", this.form)) numberRows(rows);
    this.addTools();
    this.open();
  }

  // As built, a form is closed: its result stands for the values that stand in
  // it. It is open while a script runs that can answer for others.
  open() {
    this.form.querySelector(".calc-fields").disabled = false;
    this.form.querySelector(".calc-closed").hidden = true;
  }

  // Back to what was built, and closed: nobody is there to work out other values.
  // What the reader typed stays on the device and in the address.
  close() {
    this.fill({});
    this.result.setAttribute("aria-busy", "false");
    this.result.replaceChildren(...this.built);
    this.showProblems();
    this.form.querySelector(".calc-fields").disabled = true;
    this.form.querySelector(".calc-closed").hidden = false;
  }

  // Fills the form; what is not given gets the author's value.
  fill(values) {
    for (const [name, field] of this.fields) write(field, values[name] ?? this.author[name]);
    this.showFields();
  }

  // Fields that depend on another's value: data-when="gauge=dial|open-manometer"
  showFields() {
    for (const field of all("[data-when]", this.form)) {
      const [name, wanted] = field.dataset.when.split("=");
      field.hidden = !wanted.split("|").includes(this.fields.get(name)?.value);
    }
  }

  values() {
    return Object.fromEntries([...this.fields]
      .filter(([, field]) => !field.closest("[hidden]"))
      // When every row was emptied, that is said: left out, the core would take its own rows.
      .map(([name, field]) => [name, read(field) || (this.author[name] && field.matches("[data-rows]") ? ";" : "")])
      .filter(([, value]) => value));
  }

  // What differs from the author's values, blanks included.
  differences() {
    return Object.fromEntries([...this.fields]
      .map(([name, field]) => [name, read(field)])
      .filter(([name, value]) => value !== this.author[name]));
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
    const { block, result } = this, waits = core || Object.keys(this.differences()).length > 0;
    result.setAttribute("aria-busy", String(Boolean(waits && !core && !missing)));
    if (!core) {
      if (waits) fetchCore();
      return;
    }
    const inputs = Object.entries(this.values()).map(([key, value]) => `${key}=${value}`).join("\n");
    const label = (details) => details.querySelector("summary")?.textContent;
    const open = new Set(all("details[open]", result).map(label));
    result.innerHTML = workOut(block.dataset.calculator, block.id, inputs, html.dataset.base);
    for (const details of all("details", result)) details.open = open.has(label(details));
    this.showProblems();
    this.drawCode();
    const main = result.querySelector(".problem, .figure.main");
    say(main ? [...main.childNodes].map((part) => part.textContent).join(" ") : "", 900);
  }

  // A refusal stands at its field as well. One of a cell is for "spots 2 rf":
  // the field, the row among those that are filled, the column.
  showProblems() {
    const problems = all(".problem", this.result).map((p) => [p.textContent, ...p.dataset.for.split(" ")]);
    for (const [name, field] of this.fields) {
      const place = field.closest(".field")?.querySelector(".field-problem");
      const its = problems.filter(([, input]) => input === name);
      const isRows = field.matches("[data-rows]"), cells = isRows ? all("[data-column]", field) : [field];
      const filled = isRows ? all(":scope > .row", field).filter((row) => all("[data-column]", row).some((cell) => cell.value.trim())) : [];
      const wrong = its.map(([, , row, column]) => filled[row - 1]?.querySelector(`[data-column="${column}"]`) ?? cells[0]);
      if (place) {
        place.id = `${this.block.id}-${name}-problem`;
        place.textContent = its.map(([text]) => text).join(" ");
        place.hidden = !its.length;
      }
      for (const cell of cells) {
        if (wrong.includes(cell)) cell.setAttribute("aria-invalid", "true");
        else cell.removeAttribute("aria-invalid");
        if (place) cell.setAttribute("aria-errormessage", place.id);
      }
    }
  }

  remember() {
    const differences = this.differences();
    device.set(this.place, Object.keys(differences).length ? differences : null);
    clearTimeout(addressing);
    addressing = setTimeout(writeAddress, 250);
  }

  // A link to this page with what was typed into this calculator, blanks
  // included. The page has the author's values by itself, and the shorter the
  // link, the coarser and surer its code.
  link() {
    const link = new URL(location.href);
    link.hash = "set:" + toAddress(this.block.id, this.differences()).join("&");
    return link.href;
  }

  // Handing over copies the link and shows it as a code that another phone's
  // camera takes; the code follows what is typed.
  addTools() {
    const reset = this.form.querySelector('[type="reset"]');
    const words = make("p"), button = make("button", { type: "button", textContent: "Hand over this set-up" });
    this.picture = make("div", { className: "code" });
    this.shared = make("div", { className: "shared", hidden: true }, words, this.picture);
    button.setAttribute("aria-expanded", "false");
    button.onclick = async () => {
      this.shared.hidden = !this.shared.hidden;
      button.setAttribute("aria-expanded", String(!this.shared.hidden));
      if (this.shared.hidden) return;
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
    const tools = make("div", { className: "calc-tools" });
    reset.replaceWith(tools);
    tools.append(reset, button, this.shared);
  }

  async drawCode() {
    if (this.shared.hidden) return;
    const link = this.link();
    const code = await drawn(link).catch(() => "<p>The code could not be drawn. The link holds the values as well.</p>");
    if (link !== this.link()) return; // more was typed meanwhile, and its code is on the way
    this.picture.innerHTML = code || "<p>These values are too many for a code. The link holds them all.</p>";
  }
}

let addressing;
function writeAddress() {
  if (missing) return; // what came with the address is not in the forms, and must not be lost
  const pairs = calculators.flatMap((one) => toAddress(one.block.id, one.differences()));
  if (pairs.length) history.replaceState(null, "", "#set:" + pairs.join("&"));
  else if (location.hash.startsWith("#set:") && location.hash !== "#set:") history.replaceState(null, "", location.pathname + location.search);
}

// A field's value as one text. Rows are joined by "; ", the cells of a row by
// their own separators, blank cells at the end left out.
function read(field) {
  if (!field.matches("[data-rows]")) return field.value.trim();
  return all(":scope > .row", field).map((row) => {
    const every = all("[data-column]", row), cells = [...every];
    while (cells.length && !cells.at(-1).value.trim()) cells.pop();
    return cells.reduce((text, cell, index) => {
      const { before } = cell.dataset, own = cellText(cell, every[index + 1]?.dataset.before);
      // Between 5 and 10 mL a comma without a blank would be a decimal one.
      const decimal = before === "," && asPoints(text + before + own)[text.length] !== ",";
      return text + before + (decimal ? " " : "") + own;
    }, "");
  }).filter(Boolean).join("; ");
}

// What was typed into a cell stays in it. In a number a comma is a point, and so
// is the semicolon that some keyboards have above it; elsewhere a stroke stands
// for what would begin the next row or cell.
function cellText({ value, dataset }, next) {
  let text = value.trim().replace(/^([-−]?\d+);(\d+)(?![\d,;-])/, "$1,$2");
  if (dataset.before) text = text.replace(/^([-−]?)(\d+),(\d+)(?![\d,-])/, (all, sign, whole, rest) =>
    rest.length === 3 && whole !== "0" ? all : `${sign}${whole}.${rest}`); // 1,000: the core asks which
  return asPoints(text).split("").map((sign, at) => sign === ";" || sign === next ? " / " : text[at]).join("").replace(/ +/g, " ").trim();
}

// The text with points for decimal commas, place by place: what is left of the
// commas parts cells. The core cuts rows in the same way.
const asPoints = (text) => text.replace(/(^|[^\d.,])(\d+),(?=\d)/g, "$1$2.");

// What `read` gives for an author's value: in rows, without the blanks that
// the author put between cells.
function asRead(field, author = "") {
  if (!field.matches("[data-rows]")) return author;
  const copy = field.cloneNode(true);
  write(copy, author);
  return read(copy);
}

function write(field, text) {
  if (!field.matches("[data-rows]")) {
    field.value = text;
    return;
  }
  for (const row of all(":scope > .row", field)) row.remove();
  for (const part of text.split(";")) {
    const cells = all("[data-column]", addRow(field));
    let rest = part.trim(), cell = cells[0];
    for (const next of cells.slice(1)) {
      const separator = next.dataset.before.trim() || " ";
      const at = asPoints(rest).indexOf(separator);
      if (at < 0) continue;
      cell.value = rest.slice(0, at).trim();
      rest = rest.slice(at + separator.length).trim();
      cell = next;
    }
    cell.value = rest;
  }
  numberRows(field);
}

// The cells of all rows have the same names; a row's number tells them apart
// where they are heard and not seen.
function numberRows(field) {
  all(":scope > .row", field).forEach((row, index) => {
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", `Row ${index + 1}`);
  });
}

function addRow(field) {
  const template = field.querySelector("template");
  const row = template.content.firstElementChild.cloneNode(true);
  (all(":scope > .row", field).at(-1) ?? field.querySelector("legend")).after(row);
  return row;
}

// Add, take away or move a row; the focus stays with what was moved.
function moveRow(button) {
  const rows = button.closest("[data-rows]"), row = button.closest(".row"), move = button.dataset.move;
  const before = row?.previousElementSibling?.closest(".row"), after = row?.nextElementSibling?.closest(".row");
  const number = (one) => all(":scope > .row", rows).indexOf(one) + 1;
  if (move === "add") {
    const added = addRow(rows);
    added.querySelector("[data-column]").focus();
    say(`Row ${number(added)} added`);
  } else if (move === "remove") {
    say(`Row ${number(row)} removed`);
    if (before || after) row.remove();
    else for (const cell of all("[data-column]", row)) cell.value = "";
    (after ?? before ?? row).querySelector("[data-column]").focus();
  } else {
    const other = move === "up" ? before : after;
    if (!other) return false;
    if (move === "up") other.before(row);
    else other.after(row);
    button.focus();
    say(`Moved to row ${number(row)}`);
  }
  numberRows(rows);
  return true;
}

// The address comes first, then the device, then the author.
function restore(given) {
  for (const one of calculators) {
    const values = own(given, one.block.id, one.place);
    if (!Object.keys({ ...values, ...one.differences() }).length) continue;
    one.fill(values);
    one.compute();
  }
}

const calculators = all(".calculator").flatMap((block) => part("A calculator", () => new Calculator(block)) ?? []);
if (html.dataset.module) {
  for (const one of calculators) one.showFields();
  part("What was typed before", () => restore(fromAddress()));
  addEventListener("hashchange", () => {
    const given = fromAddress();
    if (!given) return;
    for (const one of calculators) if (given.has(one.block.id)) device.set(one.place, given.get(one.block.id));
    if (missing) return;
    restore(given);
    calculators.find((one) => given.has(one.block.id))?.block.scrollIntoView();
  });
  addEventListener("pagehide", writeAddress);
}
const filled = Promise.all(all(".card[data-page]").map(fillCard)).catch((error) => {
  console.error(error);
  notice("A card could not be filled in: it shows the values of its page.", "Try again", () => location.reload());
});

// A bench card shows the reader's own values where there are any: those of the
// address, else those kept from the page that the card belongs to. Its code
// leads to that page, where this site stands, with what was typed; the page has
// the rest by itself. Where that is what the builder drew, nothing is fetched.
async function fillCard(card) {
  const page = new URL(card.dataset.page, root), given = fromAddress();
  const sources = all(".card-source", card), typed = [];
  for (const source of sources) {
    const { id } = source.dataset;
    const inputs = new Set(all("[data-input]", source).map((place) => place.dataset.input));
    const typedHere = own(given, id, `${page.pathname}#${id}`);
    for (const name of Object.keys(typedHere)) if (!inputs.has(name)) delete typedHere[name];
    const values = bare(source.dataset.inputs.split("\n").filter(Boolean).map((line) => line.split(/=(.*)/s)));
    Object.assign(values, typedHere);
    typed.push(...toAddress(id, typedHere));
    if (!Object.keys(typedHere).length) continue;
    await fetchCore();
    fillSource(source, values, typedHere);
  }
  const code = card.querySelector(".card-code"), picture = code.querySelector(".card-qr");
  if (sources.length) page.hash = "set:" + typed.join("&");
  if (page.href === code.dataset.leads) return;
  code.hidden = true; // never the author's code beside the reader's values
  try {
    picture.innerHTML = await drawn(page.href);
    if (!picture.innerHTML) { // more was typed than fits a code that a camera reads
      page.hash = "";
      picture.innerHTML = await drawn(page.href);
      code.querySelector("figcaption").textContent = "The page, without what was typed";
    }
    code.hidden = false;
  } catch (error) { console.error(error); }
}

function fillSource(source, values, typed) {
  const { id, calculator } = source.dataset;
  for (const place of all("[data-input]", source)) {
    const { input, when } = place.dataset, value = values[input] ?? "";
    if (input in typed) place.querySelector("b").textContent = value;
    const [other, wanted] = when?.split("=") ?? [];
    const asked = !when || !(other in values) || wanted.split("|").includes(values[other]);
    if (input in typed || !asked) place.hidden = !value || !asked;
  }
  const lines = Object.entries(values).filter(([, value]) => value).map(([key, value]) => `${key}=${value}`);
  const result = make("div", { innerHTML: workOut(calculator, id, lines.join("\n"), html.dataset.base) });
  for (const figure of all("[data-result]", source)) {
    const found = result.querySelector(`[data-result="${CSS.escape(figure.dataset.result)}"] dd`);
    figure.querySelector("dd").replaceChildren(...found?.childNodes ?? ["–"]);
  }
  // Values that are refused take no caution away: the printed ones stay beside the refusal.
  const warnings = source.querySelector(".card-warnings"), refused = all(".problem", result);
  if (refused.length) warnings.prepend(...refused);
  else warnings.replaceChildren(...all(source.hasAttribute("data-dangers-only") ? '[data-level="danger"]' : ".caution", result));
}

// A word of the trade is explained where it stands, out of the glossary, which the device keeps.
// Without script, or where that fails, the link leads there.
let glossary;
async function explain(link) {
  glossary ??= fetch(link.href.split("#")[0])
    .then((answer) => answer.text())
    .then((text) => new DOMParser().parseFromString(text, "text/html"));
  const entry = (await glossary).getElementById(link.hash.slice(1));
  const more = make("a", { href: link.href, textContent: "All words" });
  const box = make("div", { className: "tolerance meaning", popover: "auto", autofocus: true, tabIndex: -1 },
    make("strong", { textContent: entry.querySelector("dt").textContent }),
    make("p", { textContent: entry.querySelector("dd").textContent }), more);
  box.ontoggle = (event) => { if (event.newState === "closed") box.remove(); };
  document.body.append(box);
  box.showPopover();
}
addEventListener("click", (event) => {
  const link = event.target.closest?.("a.term");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  explain(link).catch(() => location.assign(link.href));
});

// Steps: ticks are remembered by the step's own words, so that a reworded step
// is a new one.
const ticksKept = "ticks " + location.pathname;
const kept = () => { const ticks = device.get(ticksKept); return new Set(Array.isArray(ticks) ? ticks : []); };
for (const list of all(".steps")) part("Ticking steps off", () => {
  const boxes = all(".step input[data-step]", list);
  const words = (box) => box.closest("label").textContent.trim().slice(0, 80);
  const before = kept();
  for (const box of boxes) {
    box.checked = before.has(words(box));
    box.onchange = () => {
      const ticks = kept();
      if (box.checked) ticks.add(words(box));
      else ticks.delete(words(box));
      device.set(ticksKept, ticks.size ? [...ticks] : null);
    };
  }
  const untick = make("button", { type: "button", textContent: "Untick all", onclick() {
    for (const box of boxes) if (box.checked) box.click();
    say("All steps unticked");
  } });
  list.before(make("div", { className: "step-tools" }, untick, ...awakeButton()));
});

// Keeps the screen on; the browser lets go whenever the page is hidden.
function awakeButton() {
  if (!navigator.wakeLock) return [];
  const button = make("button", { type: "button", textContent: "Keep the screen on" });
  button.setAttribute("aria-pressed", "false");
  let lock;
  const wanted = () => button.getAttribute("aria-pressed") === "true";
  const hold = async () => {
    try {
      lock = await navigator.wakeLock.request("screen");
    } catch {
      button.setAttribute("aria-pressed", "false");
      say("This device does not let the page keep the screen on");
    }
  };
  button.onclick = () => {
    button.setAttribute("aria-pressed", String(!wanted()));
    if (wanted()) hold();
    else lock?.release();
  };
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && wanted()) hold();
  });
  return [button];
}

// Timers: the time of the end is what is kept, so that neither a sleeping
// screen nor a reload makes them wrong.
const clock = (seconds) => {
  const [h, m, s] = [seconds / 3600, (seconds / 60) % 60, seconds % 60].map(Math.floor);
  return (h ? [h, m, s] : [m, s]).map((part, at) => (at ? String(part).padStart(2, "0") : part)).join(":");
};

class Timer {
  constructor(button, index) {
    this.button = button;
    this.words = button.textContent.trim();
    this.key = `timer ${location.pathname} ${index}`;
    this.end = device.get(this.key);
    this.told = this.end < Date.now() - 3600000; // ended long ago: shown, not announced
    button.onclick = () => {
      this.end = this.end ? null : Date.now() + 60000 * Number(button.dataset.minutes);
      this.told = false;
      device.set(this.key, this.end);
      this.show();
    };
    this.show();
  }

  show() {
    const { button, words } = this;
    const left = Math.ceil((this.end - Date.now()) / 1000);
    const state = !this.end ? "ready" : left > 0 ? "running" : "over";
    const text = { ready: `▷ ${words}`, running: `◼ ${clock(left)}`, over: `${words}: time is up` }[state];
    if (button.textContent !== text) button.textContent = text;
    if (button.dataset.state === state) return;
    button.dataset.state = state;
    const does = { ready: "start the timer", running: "timer runs, stop it", over: "time is up, clear the timer" }[state];
    button.setAttribute("aria-label", `${words}: ${does}`);
    if (state === "over" && !this.told) {
      this.told = true;
      if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([400, 200, 400]);
      notice(`Time is up: ${words}.`, "Go to the step", () => { button.scrollIntoView({ block: "center" }); button.focus(); });
    }
  }
}

const timers = all(".timer[data-minutes]").flatMap((button, index) => part("A timer", () => new Timer(button, index)) ?? []);
if (timers.length) {
  const showAll = () => { for (const timer of timers) timer.show(); };
  setInterval(showAll, 500);
  document.addEventListener("visibilitychange", showAll);
}

// Tables: a button in every heading sorts, a box above leaves out rows.
const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
for (const table of all("table.sortable")) part("Sorting a table", () => {
  const body = table.tBodies[0], rows = [...body.rows];
  const cell = (row, column) => row.cells[column]?.textContent.trim() ?? "";
  const number = (text) => parseFloat(text.replace("−", "-").replace(/^[<>≈~ ]+/, ""));
  [...table.tHead.rows[0].cells].forEach((heading, column) => {
    const filled = rows.filter((row) => cell(row, column));
    const numeric = filled.length > 0 && filled.every((row) => !Number.isNaN(number(cell(row, column))));
    const button = make("button", { type: "button" }, ...heading.childNodes);
    heading.append(button);
    button.onclick = () => {
      const down = heading.getAttribute("aria-sort") === "ascending";
      for (const other of all("[aria-sort]", table)) other.removeAttribute("aria-sort");
      heading.setAttribute("aria-sort", down ? "descending" : "ascending");
      const compare = (a, b) => numeric ? number(a) - number(b) : a.localeCompare(b, "en", { numeric: true });
      body.append(...rows.sort((one, two) => {
        const a = cell(one, column), b = cell(two, column);
        if (!a || !b) return !a - !b; // blanks stay at the end
        return down ? compare(b, a) : compare(a, b);
      }));
    };
  });
  const words = rows.map((row) => plain(row.textContent));
  const order = new Map(rows.map((row, index) => [row, words[index]]));
  const box = make("input", { type: "search", autocomplete: "off", spellcheck: false });
  const count = make("output", { textContent: `${rows.length} rows` });
  box.oninput = () => {
    const wanted = plain(box.value).split(/\s+/);
    for (const row of rows) row.hidden = !wanted.every((word) => order.get(row).includes(word));
    count.textContent = `${rows.filter((row) => !row.hidden).length} of ${rows.length} rows`;
  };
  (table.closest(".wide") ?? table).before(make("div", { className: "table-filter" }, make("label", {}, "Show rows with ", box), count));
});

// Working without a network: the worker starts when the page has all it needs.
async function workOffline() {
  const { serviceWorker } = navigator;
  if (!serviceWorker) return;
  const registration = await serviceWorker.register(new URL("worker.js", root));
  let taking = false;
  const offer = (worker) => notice("A new version of this manual is ready.", "Take it", () => {
    taking = true;
    worker.postMessage("take");
  });
  serviceWorker.addEventListener("controllerchange", () => { if (taking) location.reload(); });
  if (registration.waiting) offer(registration.waiting);
  registration.addEventListener("updatefound", () => {
    const worker = registration.installing;
    worker.addEventListener("statechange", () => {
      if (worker.state === "installed" && serviceWorker.controller) offer(worker);
    });
  });
}
const loaded = new Promise((done) => {
  if (document.readyState === "complete") done();
  else addEventListener("load", done, { once: true });
});
// On a good line the core comes before it is asked for; where the line is not known, it is taken for good.
const { saveData = false, effectiveType = "4g" } = navigator.connection ?? {};
if (calculators.length && html.dataset.module && !saveData && effectiveType === "4g") {
  loaded.then(() => (window.requestIdleCallback ?? setTimeout)(fetchCore));
}
Promise.all([loaded, filled, coming]).then(workOffline).catch((error) => console.warn("offline:", error));
