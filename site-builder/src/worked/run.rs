//! A run: what a page gives once, and the sheet on which all its calculators and numbers draw.
//!
//! A page with a `run` block is read twice. The first time its calculators and numbers are
//! gathered, so that a sentence may draw on a calculator that stands below it; then the sheet is
//! worked out, each calculator once; the second time everything takes its share of it.

use crate::finding::{Flaw, choice, spelling};
use crate::worked::given::{self, Given, pairs, syntax};
use crate::worked::material::RunGiven;
use crate::worked::numbers::{self, Answered, Block};
use calc_wasm::calculators;
use calc_wasm::inputs::{Input, Kind};
use calc_wasm::library::Library;
use calc_wasm::markup::escape;
use calc_wasm::report;
use calc_wasm::report::sheet::{HIDDEN, Shown};
use calc_wasm::sheet::{self, Answer, Cell, Fault, Reference, Sheet, Typed, Worked};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;
use toml::de::{DeTable, DeValue};

/// A `run` block, read.
#[derive(Clone, Debug, Default)]
pub struct Run {
    /// What is given once, in the order written.
    pub values: Vec<RunValue>,
    /// Results that stand under them, `vacuum-plan.suggested_pressure`, each with its place.
    pub setting: Vec<(String, Range<usize>)>,
}

/// One value given once.
#[derive(Clone, Debug)]
pub struct RunValue {
    /// What references call it.
    pub name: String,
    /// What readers call it.
    pub label: String,
    /// What the author gives.
    pub text: String,
    /// Bytes of the name.
    pub name_span: Range<usize>,
}

/// The key under which a `run` block lists the results that are set at the bench.
const SETTING: &str = "setting";

/// Reads a `run` block.
///
/// # Errors
/// All flaws, by bytes of `body`.
pub fn read(body: &str) -> Result<Run, Vec<Flaw>> {
    let table = DeTable::parse(body).map_err(|error| vec![syntax(body, &error)])?;
    let mut run = Run::default();
    let mut flaws = Vec::new();
    for (key, value) in table.get_ref() {
        let name = key.get_ref().to_string();
        if name == SETTING {
            match list(value.get_ref()) {
                Some(list) => run.setting = list,
                None => flaws.push(
                    Flaw::new(value.span(), "`setting` is not a list of results")
                        .mend("write `setting = [\"vacuum-plan.suggested_pressure\"]`"),
                ),
            }
            continue;
        }
        if !name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') {
            let message = format!("`{name}` cannot be the name of a value");
            flaws.push(Flaw::new(key.span(), message).mend("use letters, digits and `_`"));
        }
        match field(value.get_ref(), &value.span(), &mut flaws) {
            Some((label, text)) => run.values.push(RunValue {
                name,
                label,
                text,
                name_span: key.span(),
            }),
            None => flaws.push(
                Flaw::new(
                    value.span(),
                    format!("`{name}` lacks its label or its value"),
                )
                .mend(format!(
                    "write `{name} = {{ label = \"What is distilled\", value = \"toluene\" }}`"
                )),
            ),
        }
    }
    run.values.sort_by_key(|value| value.name_span.start);
    if run.values.is_empty() && flaws.is_empty() {
        flaws.push(
            Flaw::new(0..body.trim_end().len(), "the run gives no value")
                .mend("write `substance = { label = \"What is distilled\", value = \"toluene\" }`"),
        );
    }
    if flaws.is_empty() {
        Ok(run)
    } else {
        Err(flaws)
    }
}

fn list(value: &DeValue<'_>) -> Option<Vec<(String, Range<usize>)>> {
    let items = value.as_array()?.iter();
    items
        .map(|item| Some((item.get_ref().as_str()?.to_owned(), item.span())))
        .collect()
}

/// Label and value of `{ label = "…", value = "…" }`.
fn field(
    value: &DeValue<'_>,
    span: &Range<usize>,
    flaws: &mut Vec<Flaw>,
) -> Option<(String, String)> {
    let table = value.as_table()?;
    for (key, _) in table {
        let name = key.get_ref().as_ref();
        if !["label", "value"].contains(&name) {
            let message = format!("a value of the run has no `{name}`");
            let at = if key.span().is_empty() {
                span.clone()
            } else {
                key.span()
            };
            flaws.push(Flaw::new(at, message).mend(choice(name, &["label", "value"])));
        }
    }
    let words = |name: &str| {
        let text = given::text(table.get(name)?.get_ref())?;
        (!text.trim().is_empty()).then_some(text)
    };
    Some((words("label")?, words("value")?))
}

/// What the first reading of a page finds.
#[derive(Clone, Debug, Default)]
pub struct Gathered {
    /// The run; none while it is not there or cannot be read.
    run: Option<Run>,
    cells: Vec<Cell>,
    numbers: Vec<String>,
}

impl Gathered {
    /// Takes the run.
    pub fn run(&mut self, run: Run) {
        self.run = Some(run);
    }

    /// Takes a calculator with its id in the page.
    pub fn block(&mut self, id: &str, block: &Block) {
        let mut inputs = pairs(&block.given);
        // A misspelt name has its finding when the block is read again.
        inputs.retain(|(name, _)| block.calculator.input(name).is_some());
        self.cells.push(Cell {
            id: id.to_owned(),
            calculator: block.calculator,
            inputs,
        });
    }

    /// Takes a number of a sentence: what stands behind its `=`.
    pub fn number(&mut self, code: &str) {
        self.numbers.push(code.to_owned());
    }

    /// Works all of it out.
    pub fn work_out(mut self, library: &Library) -> PageSheet {
        let broken = self.run.is_none();
        let run = self.run.take().unwrap_or_default();
        let mut keys = BTreeMap::new();
        let blocks = self.cells.len();
        for code in &self.numbers {
            if let Some(key) = run.key(code) {
                keys.insert(code.clone(), key);
            } else if let Some((cell, result)) = asked(code, &self.cells[..blocks]) {
                let id = match self.cells.iter().find(|known| same(known, &cell)) {
                    Some(known) => known.id.clone(),
                    None => {
                        let id = format!("{HIDDEN}{}", self.cells.len() - blocks + 1);
                        self.cells.push(Cell {
                            id: id.clone(),
                            ..cell
                        });
                        id
                    }
                };
                keys.insert(code.clone(), format!("{id}.{result}"));
            }
        }
        let values = run.values.iter().map(|value| sheet::Given {
            name: value.name.clone(),
            text: value.text.clone(),
        });
        let (sheet, faults) = match Sheet::new(values.collect(), self.cells.clone()) {
            Ok(sheet) => (sheet, Vec::new()),
            Err(faults) => (Sheet::default(), faults),
        };
        let worked = sheet.work_out(library, &Typed::default(), None);
        PageSheet {
            uses: uses(&self.cells),
            run,
            broken,
            sheet,
            worked,
            keys,
            faults,
        }
    }
}

impl Run {
    /// The key of a number that is a value of the run.
    fn key(&self, code: &str) -> Option<String> {
        let mut values = self.values.iter();
        values
            .find(|value| value.name == code.trim())
            .map(|value| value.name.clone())
    }
}

/// Whether two cells work out the same.
fn same(one: &Cell, other: &Cell) -> bool {
    one.calculator.name == other.calculator.name && one.inputs == other.inputs
}

/// The cell that a number in a sentence asks for, and its result; none where the number hangs on
/// nothing of the page, or cannot be read.
fn asked(code: &str, blocks: &[Cell]) -> Option<(Cell, String)> {
    let head_end = given::head_end(code);
    let (name, result) = code[..head_end].split_once('.')?;
    let given = given::words(code, head_end).ok()?;
    let mut inputs = pairs(&given);
    let block = blocks.iter().find(|cell| cell.id == name);
    let calculator = match block {
        Some(block) => {
            for (input, text) in &block.inputs {
                if inputs.iter().all(|(its, _)| its != input) {
                    inputs.push((input.clone(), text.clone()));
                }
            }
            // In the block's own order, so that equal cells are found to be equal.
            let place = |name: &str| block.inputs.iter().position(|(its, _)| its == name);
            inputs.sort_by_key(|(name, _)| place(name).unwrap_or(block.inputs.len()));
            block.calculator
        }
        None => {
            inputs
                .iter()
                .find(|(_, text)| Reference::read(text).is_some())?;
            calculators::find(name)?
        }
    };
    let known = |(name, _): &(String, String)| calculator.input(name).is_some();
    inputs.iter().all(known).then_some(())?;
    let cell = Cell {
        id: String::new(),
        calculator,
        inputs,
    };
    Some((cell, result.to_owned()))
}

/// The first input that draws on each value, and its cell: it says what the value may be.
fn uses(cells: &[Cell]) -> BTreeMap<String, (String, &'static Input)> {
    let mut uses = BTreeMap::new();
    for cell in cells {
        for (name, text) in &cell.inputs {
            let Some(reference) = Reference::read(text).filter(|one| one.result.is_none()) else {
                continue;
            };
            if let Some(input) = cell.calculator.input(name) {
                uses.entry(reference.name.to_owned())
                    .or_insert((cell.id.clone(), input));
            }
        }
    }
    uses
}

/// All that a page works out, each calculator once.
#[derive(Clone, Debug)]
pub struct PageSheet {
    run: Run,
    /// Whether the run cannot be read: that is told, and nothing of what follows from it.
    broken: bool,
    sheet: Sheet,
    worked: Worked,
    /// The keys of its numbers, by what stands behind the `=`.
    keys: BTreeMap<String, String>,
    faults: Vec<Fault>,
    uses: BTreeMap<String, (String, &'static Input)>,
}

impl PageSheet {
    /// The sheet as its page hands it to the core.
    pub fn text(&self) -> String {
        self.sheet.text()
    }

    /// The values given once, as they are shown.
    pub fn given(&self) -> Vec<RunGiven> {
        let values = self.run.values.iter();
        values
            .map(|value| RunGiven {
                name: value.name.clone(),
                label: value.label.clone(),
                value: self.shown(value).to_owned(),
            })
            .collect()
    }

    fn shown<'s>(&'s self, value: &'s RunValue) -> &'s str {
        self.worked
            .value(&self.sheet, &value.name)
            .unwrap_or(&value.text)
    }

    /// What the block called `id` came to. Its flaws go to the block.
    pub fn answered(&self, id: &str, block: &mut Block, base: &str) -> Option<Answered> {
        if self.broken {
            return None;
        }
        let flaws = self.flaws_of(id, &block.given);
        let unknown = |one| numbers::unknown(block.calculator, one);
        let flaws: Vec<Flaw> = block
            .given
            .iter()
            .filter_map(unknown)
            .chain(flaws)
            .collect();
        let broken = !flaws.is_empty();
        block.flaws(flaws);
        if broken {
            return None;
        }
        let place = self.sheet.place(id)?;
        match &**self.worked.answer(place)? {
            Answer::Worked(outcome) => Some(Answered {
                outcome: Arc::clone(outcome),
                html: Some(report::sheet::cell(&self.sheet, &self.worked, place, base)),
                drawn: self.worked.drawn(place).to_vec(),
            }),
            Answer::Refused(problems) => {
                let whole = 0..block.given.iter().map(|one| one.text_span.end).max()?;
                let flaws = problems
                    .iter()
                    .map(|problem| numbers::place(problem, &block.given, whole.clone()));
                block.flaws(flaws.collect::<Vec<_>>());
                None
            }
            // The cell for which it waits has the finding.
            Answer::Waits(_) => None,
        }
    }

    /// What is wrong with the references of a cell.
    fn flaws_of(&self, id: &str, given: &[Given]) -> Vec<Flaw> {
        let one = |one: &Given| self.flaw_of(id, &one.name, &one.text, &one.text_span);
        given.iter().filter_map(one).collect()
    }

    /// What is wrong with `text`, written for the input or value called `name`, if it is a
    /// reference.
    fn flaw_of(&self, owner: &str, name: &str, text: &str, span: &Range<usize>) -> Option<Flaw> {
        let reference = Reference::read(text)?;
        let said = match self.fault(owner, name) {
            Some(fault) => Some(self.said(fault, &reference)),
            None => self.misfit(owner, name, &reference),
        };
        said.map(|flaw| Flaw {
            span: span.clone(),
            ..flaw
        })
    }

    fn fault(&self, id: &str, input: &str) -> Option<&Fault> {
        self.faults.iter().find(|fault| match fault {
            Fault::Unknown {
                cell, input: its, ..
            } => cell == id && its == input,
            Fault::Circle(cells) => cells.first().is_some_and(|cell| cell == id),
            Fault::Line(_) => false,
        })
    }

    /// A fault in words; where it stands is the caller's to say.
    fn said(&self, fault: &Fault, reference: &Reference<'_>) -> Flaw {
        match fault {
            Fault::Unknown { name, near, .. } => {
                let (what, mend) = match reference.result {
                    None => ("the run gives no", "add it to the `run` block"),
                    Some(_) => ("the page has no calculator", "give a block this `id`"),
                };
                let flaw = Flaw::new(0..0, format!("{what} `{name}`"));
                match near {
                    Some(near) => flaw.mend(format!("the nearest is `{near}`")),
                    None => flaw.mend(mend),
                }
            }
            Fault::Circle(cells) => {
                let message = match cells.as_slice() {
                    [one] => format!("`{one}` draws on its own result"),
                    _ => format!("`{}` draw on each other in a circle", cells.join("`, `")),
                };
                Flaw::new(0..0, message).mend("give one of them a value of its own")
            }
            Fault::Line(line) => Flaw::new(0..0, format!("`{line}` cannot be read")),
        }
    }

    /// A value that is of another kind than where it was used first, or a result that is not
    /// there; where it stands is the caller's to say.
    fn misfit(&self, id: &str, name: &str, reference: &Reference<'_>) -> Option<Flaw> {
        let Some(result) = reference.result else {
            let (first, input) = self.uses.get(reference.name)?;
            let cell = &self.sheet.cells()[self.sheet.place(id)?];
            let here = cell.calculator.input(name)?;
            return (!alike(&input.kind, &here.kind)).then(|| {
                let message = format!(
                    "`{}` is {} for `{first}`, and {} is asked for here",
                    reference.name,
                    called(&input.kind),
                    called(&here.kind)
                );
                Flaw::new(0..0, message).mend("give this one a value of its own in the `run` block")
            });
        };
        let place = self.sheet.place(reference.name)?;
        match &**self.worked.answer(place)? {
            Answer::Worked(outcome) if outcome.figure(result).is_none() => {
                Some(numbers::no_figure(reference.name, result, 0..0, outcome))
            }
            _ => None,
        }
    }

    /// A number of a sentence that hangs on the run: its key and what it shows. None where it
    /// hangs on nothing of the page.
    ///
    /// # Errors
    /// All flaws, by bytes of `code`.
    pub fn number(&self, code: &str) -> Option<Result<(String, Shown), Vec<Flaw>>> {
        if self.broken {
            return Some(Err(Vec::new()));
        }
        let Some(key) = self.keys.get(code) else {
            let is_word = !code.contains(['.', ' ', '=']) && !code.is_empty();
            return is_word.then(|| {
                let names = self.run.values.iter().map(|value| value.name.as_str());
                let flaw = Flaw::new(0..code.len(), format!("the run gives no `{code}`"));
                Err(vec![match spelling(code, names) {
                    Some(near) => flaw.mend(near),
                    None => flaw.mend("add it to the `run` block, or name a result"),
                }])
            });
        };
        let flaws = self.number_flaws(key, code);
        if !flaws.is_empty() || !self.faults.is_empty() {
            return Some(Err(flaws));
        }
        let shown = report::sheet::shown(&self.sheet, &self.worked, key);
        Some(Ok((key.clone(), shown)))
    }

    fn number_flaws(&self, key: &str, code: &str) -> Vec<Flaw> {
        let Some((id, result)) = key.split_once('.') else {
            return Vec::new();
        };
        let head_end = given::head_end(code);
        let given = given::words(code, head_end).unwrap_or_default();
        if !self.faults.is_empty() {
            return self.flaws_of(id, &given);
        }
        let answer = self
            .sheet
            .place(id)
            .and_then(|place| self.worked.answer(place));
        match answer.map(|answer| &**answer) {
            Some(Answer::Worked(outcome)) if outcome.figure(result).is_none() => {
                let name = code.split('.').next().unwrap_or_default();
                let span = name.len() + 1..head_end;
                vec![numbers::no_figure(name, result, span, outcome)]
            }
            // A block has its own findings.
            Some(Answer::Refused(problems)) if id.starts_with(HIDDEN) => problems
                .iter()
                .map(|problem| numbers::place(problem, &given, 0..code.len()))
                .collect(),
            _ => Vec::new(),
        }
    }

    /// What is wrong with the run itself: values that nobody uses, results that are not there.
    pub fn flaws(&self) -> Vec<Flaw> {
        let in_text: BTreeSet<&str> = self.keys.values().map(String::as_str).collect();
        let mut flaws = Vec::new();
        for value in &self.run.values {
            let used = self.uses.contains_key(&value.name) || in_text.contains(value.name.as_str());
            if !used {
                let message = format!("nothing on the page draws on `{}`", value.name);
                let mend = format!(
                    "write `\"={}\"` where it belongs, or take it out",
                    value.name
                );
                flaws.push(Flaw::new(value.name_span.clone(), message).mend(mend));
            }
        }
        flaws.extend(self.run.values.iter().filter_map(|value| {
            self.flaw_of(sheet::RUN, &value.name, &value.text, &value.name_span)
        }));
        if !self.faults.is_empty() {
            return flaws;
        }
        for (key, span) in &self.run.setting {
            flaws.extend(self.setting_flaw(key, span));
        }
        flaws
    }

    fn setting_flaw(&self, key: &str, span: &Range<usize>) -> Option<Flaw> {
        let ids = self.sheet.cells().iter().map(|cell| cell.id.as_str());
        let Some((id, result)) = key.split_once('.') else {
            let message = format!("`{key}` names no result");
            return Some(Flaw::new(span.clone(), message).mend("write `calculator.result`"));
        };
        let Some(place) = self.sheet.place(id) else {
            let flaw = Flaw::new(span.clone(), format!("the page has no calculator `{id}`"));
            return Some(match spelling(id, ids) {
                Some(near) => flaw.mend(near),
                None => flaw,
            });
        };
        match &**self.worked.answer(place)? {
            Answer::Worked(outcome) if outcome.figure(result).is_none() => {
                Some(numbers::no_figure(id, result, span.clone(), outcome))
            }
            _ => None,
        }
    }

    /// The run as HTML: its form, what is set, and the sheet for the script.
    pub fn html(&self, library: &Library) -> String {
        let fields: String = self
            .run
            .values
            .iter()
            .map(|value| {
                let drawn_by = self.uses.get(&value.name).and_then(|(cell, input)| {
                    let place = self.sheet.place(cell)?;
                    Some((self.sheet.cells()[place].calculator, *input))
                });
                let text = self.shown(value);
                report::value_field(drawn_by, library, &value.name, &value.label, text)
            })
            .collect();
        let setting: String = self
            .run
            .setting
            .iter()
            .filter_map(|(key, _)| {
                let (id, result) = key.split_once('.')?;
                let figure = self.worked.figure(&self.sheet, id, result)?;
                let shown = report::sheet::shown(&self.sheet, &self.worked, key);
                Some(format!(
                    "<div class=\"figure\"><dt><a href=\"#{id}\">{}</a></dt><dd><output data-number=\"{key}\" title=\"{}\">{}</output></dd></div>",
                    escape(&figure.label),
                    escape(&shown.tolerance),
                    escape(&shown.text)
                ))
            })
            .collect();
        format!(
            "<section class=\"calculator run\" id=\"{run}\" aria-labelledby=\"{run}-title\"><h2 id=\"{run}-title\">This run</h2>\
             <form class=\"calc-form\" novalidate><fieldset class=\"calc-fields\" aria-describedby=\"{run}-closed\" disabled>{fields}\
             <button type=\"reset\">Back to the page’s values</button>\
             <p class=\"calc-closed\" id=\"{run}-closed\">The page stands for the values printed here. They cannot be changed while the calculators do not run.</p>\
             </fieldset></form>\
             <div class=\"calc-result\"><dl class=\"figures run-setting\">{setting}</dl></div>\
             <pre class=\"run-sheet\" hidden>{}</pre></section>",
            escape(&self.text()),
            run = sheet::RUN,
        )
    }
}

/// How a number of a run begins that cannot be pressed, before its key.
pub const NUMBER: &str = "<span class=\"number\" data-number=\"";

/// A number of a run that cannot be pressed: the script finds it by its key. `tolerance` is its
/// title, where it has one.
pub fn number_html(key: &str, text: &str, tolerance: &str) -> String {
    let title = if tolerance.is_empty() {
        String::new()
    } else {
        format!(" title=\"{}\"", escape(tolerance))
    };
    format!("{NUMBER}{}\"{title}>{}</span>", escape(key), escape(text))
}

/// Whether a value may stand for both.
fn alike(one: &Kind, other: &Kind) -> bool {
    match (one, other) {
        (
            Kind::Entry(a) | Kind::EntryOrQuantity(a, _),
            Kind::Entry(b) | Kind::EntryOrQuantity(b, _),
        ) => a == b,
        (Kind::Quantity(a), Kind::Quantity(b)) => a.dimension.name == b.dimension.name,
        (Kind::AnyOf(limits), Kind::Quantity(limit))
        | (Kind::Quantity(limit), Kind::AnyOf(limits)) => limits
            .iter()
            .any(|one| one.dimension.name == limit.dimension.name),
        (Kind::AnyOf(_), Kind::AnyOf(_)) | (Kind::Words, _) | (_, Kind::Words) => true,
        (Kind::Choice(a), Kind::Choice(b)) => a.iter().map(|c| c.name).eq(b.iter().map(|c| c.name)),
        (Kind::Rows(a), Kind::Rows(b)) => a.len() == b.len(),
        _ => false,
    }
}

/// What a kind is called in a finding.
fn called(kind: &Kind) -> String {
    match kind {
        Kind::Quantity(limit) => format!("a {}", limit.dimension.name),
        Kind::AnyOf(_) => "an amount".to_owned(),
        Kind::Choice(_) => "a choice".to_owned(),
        Kind::Entry(table) | Kind::EntryOrQuantity(table, _) => format!("a row of {table}"),
        Kind::Words => "words".to_owned(),
        Kind::Rows(_) => "rows".to_owned(),
    }
}
