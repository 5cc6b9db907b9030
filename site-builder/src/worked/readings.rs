//! A `readings` block: what is read in a run, and what is expected of it.

use crate::finding::{Flaw, choice, spelling};
use crate::worked::given;
use crate::worked::numbers::Worked;
use calc_wasm::markup::escape;
use calc_wasm::quantity::{self, Number, Quantity};
use calc_wasm::readings::{Column, KINDS, Spec};
use std::collections::BTreeSet;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a column may say.
const FIELDS: [&str; 9] = [
    "label", "kind", "unit", "error", "fills", "expect", "of", "once", "sum",
];
/// What the block may say besides its columns.
const HEAD: [&str; 2] = ["judge", "group"];
/// Lines of the table that is filled in by hand.
const LINES: usize = 12;

/// A `readings` block, read and found sound.
#[derive(Debug)]
pub struct Readings {
    /// What is read.
    pub spec: Spec,
    /// The ids of the calculators it draws on, each once.
    pub needs: BTreeSet<String>,
}

/// Reads a `readings` block. `page` are the calculators that stand above it.
///
/// # Errors
/// All flaws, by bytes of `body`.
pub fn read(body: &str, page: &[Worked]) -> Result<Readings, Vec<Flaw>> {
    let root = DeTable::parse(body).map_err(|error| vec![given::syntax(body, &error)])?;
    let mut reader = Reader {
        page,
        spec: Spec::default(),
        spans: Vec::new(),
        needs: BTreeSet::new(),
        flaws: Vec::new(),
    };
    let mut entries: Vec<_> = root.get_ref().iter().collect();
    // The order written is the order shown.
    entries.sort_by_key(|(key, _)| key.span().start);
    for (key, value) in entries {
        match (key.get_ref().as_ref(), value.get_ref().as_table()) {
            ("judge", _) => reader.judge(value),
            ("group", _) => reader.spec.group = reader.words(value).unwrap_or_default(),
            (name, Some(fields)) => reader.column(name, key.span(), fields),
            (name, None) => {
                let mend = spelling(name, HEAD).unwrap_or_else(|| {
                    format!("write `{name} = {{ label = \"…\", kind = \"…\" }}`")
                });
                reader.flaw(key.span(), format!("`{name}` is no column"), mend);
            }
        }
    }
    if reader.spec.each().next().is_none() && reader.flaws.is_empty() {
        reader.flaw(
            0..body.trim_end().len(),
            "nothing is read",
            "name each thing that is, as `head = { label = \"Head\", kind = \"temperature\" }`",
        );
    }
    let group = root.get_ref().get("group").map(Spanned::span);
    reader.relations(group);
    if !reader.flaws.is_empty() {
        return Err(reader.flaws);
    }
    Ok(Readings {
        spec: reader.spec,
        needs: reader.needs,
    })
}

struct Reader<'r> {
    page: &'r [Worked],
    spec: Spec,
    /// Where the fields of each column stand.
    spans: Vec<Vec<(String, Range<usize>)>>,
    needs: BTreeSet<String>,
    flaws: Vec<Flaw>,
}

impl<'r> Reader<'r> {
    fn flaw(&mut self, span: Range<usize>, message: impl Into<String>, mend: impl Into<String>) {
        self.flaws.push(Flaw::new(span, message).mend(mend));
    }

    fn words(&mut self, value: &Spanned<DeValue<'_>>) -> Option<String> {
        let words = value.get_ref().as_str().map(|text| text.trim().to_owned());
        if words.as_ref().is_none_or(String::is_empty) {
            self.flaw(
                value.span(),
                "these are no words",
                "write words between quotes",
            );
        }
        words
    }

    /// The calculator above that has this id, or a flaw.
    fn above(&mut self, id: &str, span: Range<usize>) -> Option<&'r Worked> {
        let found = self.page.iter().find(|block| block.id == id);
        if found.is_some() {
            self.needs.insert(id.to_owned());
        } else {
            let mend = spelling(id, self.page.iter().map(|block| block.id.as_str()));
            let mend =
                mend.unwrap_or_else(|| "name a calculator that stands above on this page".into());
            self.flaw(span, format!("no calculator above is called `{id}`"), mend);
        }
        found
    }

    fn judge(&mut self, value: &Spanned<DeValue<'_>>) {
        let Some(id) = self.words(value) else { return };
        if self.above(&id, value.span()).is_some() {
            self.spec.judge = id;
        }
    }

    fn column(&mut self, name: &str, span: Range<usize>, fields: &DeTable<'_>) {
        let mut column = Column {
            name: name.to_owned(),
            ..Column::default()
        };
        let mut spans = vec![(String::new(), span.clone())];
        let mut kind = None;
        let mut entries: Vec<_> = fields.iter().collect();
        entries.sort_by_key(|(key, _)| key.span().start);
        for (key, value) in entries {
            let field = key.get_ref().as_ref();
            spans.push((field.to_owned(), value.span()));
            match field {
                "once" | "sum" => match value.get_ref().as_bool() {
                    Some(yes) if field == "once" => column.once = yes,
                    Some(yes) => column.sum = yes,
                    None => self.flaw(
                        value.span(),
                        format!("`{field}` is neither true nor false"),
                        format!("write `{field} = true`"),
                    ),
                },
                "kind" => kind = self.words(value).map(|words| (words, value.span())),
                "expect" => column.expect = self.expect(value).unwrap_or_default(),
                _ if FIELDS.contains(&field) => {
                    let words = self.words(value).unwrap_or_default();
                    match field {
                        "label" => column.label = words,
                        "unit" => column.unit = words,
                        "error" => column.error = words,
                        "fills" => column.fills = words,
                        _ => column.of = words,
                    }
                }
                _ => {
                    let mend = choice(field, &FIELDS);
                    self.flaw(key.span(), format!("a column has no `{field}`"), mend);
                }
            }
        }
        for wanted in ["label", "kind"] {
            if !fields.contains_key(wanted) {
                let mend = format!("add `{wanted} = \"…\"`");
                self.flaw(
                    span.clone(),
                    format!("the column `{name}` has no `{wanted}`"),
                    mend,
                );
            }
        }
        if let Some((kind, span)) = kind {
            let names = KINDS.map(|(name, _)| name);
            match KINDS.iter().find(|(known, _)| *known == kind) {
                Some((_, dimension)) => column.dimension = *dimension,
                None => self.flaw(
                    span,
                    format!("there is no kind `{kind}`"),
                    choice(&kind, &names),
                ),
            }
        }
        self.spec.columns.push(column);
        self.spans.push(spans);
    }

    /// `=id.figure` without its sign.
    fn expect(&mut self, value: &Spanned<DeValue<'_>>) -> Option<String> {
        let written = self.words(value)?;
        let Some(id_and_figure) = written.strip_prefix('=').filter(|rest| rest.contains('.'))
        else {
            self.flaw(
                value.span(),
                format!("`{written}` names no result"),
                "write `\"=bath-setting.bath_temperature\"`",
            );
            return None;
        };
        Some(id_and_figure.to_owned())
    }

    /// What one column says of others and of the page's calculators.
    fn relations(&mut self, group: Option<Range<usize>>) {
        let columns = self.spec.columns.clone();
        let names: Vec<&str> = columns.iter().map(|column| column.name.as_str()).collect();
        if let Some(span) = group
            && !names.contains(&self.spec.group.as_str())
        {
            let mend = spelling(&self.spec.group, names.iter().copied())
                .unwrap_or_else(|| "name one of the columns".into());
            self.flaw(
                span,
                format!("no column is called `{}`", self.spec.group),
                mend,
            );
        }
        for (at, column) in columns.iter().enumerate() {
            let span = |field: &str| {
                let spans = &self.spans[at];
                let found = spans.iter().find(|(name, _)| name == field);
                found.map_or(spans[0].1.clone(), |(_, span)| span.clone())
            };
            let [unit, error, expect, of] = ["unit", "error", "expect", "of"].map(span);
            self.units(column, unit, error);
            if !column.expect.is_empty() {
                self.expected(column, &names, expect);
            }
            if !column.of.is_empty() {
                let whole = columns
                    .iter()
                    .find(|other| other.name == column.of && other.once);
                if whole.is_none_or(|whole| !same(whole, column)) {
                    self.flaw(
                        of,
                        format!(
                            "`{}` is no column of this kind that is asked once",
                            column.of
                        ),
                        "name one that says `once = true`",
                    );
                }
            }
        }
        // All calculators are known now.
        for (at, column) in columns.iter().enumerate() {
            let place = self.spans[at].iter().find(|(name, _)| name == "fills");
            if let Some((_, span)) = place.cloned() {
                self.fills(column, span);
            }
        }
    }

    fn units(&mut self, column: &Column, unit: Range<usize>, error: Range<usize>) {
        let Some(dimension) = column.dimension else {
            if !column.unit.is_empty() || !column.error.is_empty() {
                let span = if column.unit.is_empty() { error } else { unit };
                self.flaw(span, "words have neither unit nor error", "leave it out");
            }
            return;
        };
        if !column.unit.is_empty() && dimension.unit(&column.unit).is_none() {
            let units: Vec<_> = dimension.units.iter().map(|unit| unit.symbol).collect();
            self.flaw(
                unit,
                format!("`{}` is not a unit of {}", column.unit, dimension.name),
                choice(&column.unit, &units),
            );
        }
        if !column.error.is_empty()
            && let Err(problem) = quantity::read(&format!("0 ± {}", column.error), dimension)
        {
            let message = problem.message.to_string().replace("0 ± ", "");
            self.flaw(error, message, "write it with its unit, as `1 °C`");
        }
    }

    /// That the figure is there, and that something can agree with it.
    fn expected(&mut self, column: &Column, names: &[&str], span: Range<usize>) {
        for gap in column.expect.split('{').skip(1) {
            let other = gap.split('}').next().unwrap_or_default();
            if !names.contains(&other) {
                let mend = spelling(other, names.iter().copied())
                    .unwrap_or_else(|| "name one of the columns".into());
                self.flaw(span.clone(), format!("no column is called `{other}`"), mend);
            }
        }
        if column.error.is_empty() && !column.expect.contains(" to ") {
            self.flaw(
                span.clone(),
                format!(
                    "without a reading error `{}` would hardly ever agree",
                    column.name
                ),
                "add `error = \"…\"`",
            );
        }
        let Some((id, figures)) = column.expect.split_once('.') else {
            return;
        };
        let Some(block) = self.above(id, span.clone()) else {
            return;
        };
        let outcome = &block.outcome;
        let known: Vec<&str> = outcome
            .figures
            .iter()
            .map(|figure| figure.name.as_str())
            .collect();
        for figure in figures.split(" to ").filter(|name| !name.contains('{')) {
            let found = outcome.figure(figure);
            let unit = if column.of.is_empty() {
                column.dimension
            } else {
                Some(Number::DIMENSION)
            };
            match found {
                None => self.flaw(
                    span.clone(),
                    format!("`{id}` has no result `{figure}`"),
                    choice(figure, &known),
                ),
                Some(found)
                    if column.of.is_empty()
                        && unit.is_none_or(|kind| kind.unit(found.unit).is_none()) =>
                {
                    self.flaw(
                        span.clone(),
                        format!("`{id}.{figure}` is of another kind than `{}`", column.name),
                        "name a result of the same kind",
                    );
                }
                Some(found) if !column.of.is_empty() && found.unit != "%" => {
                    self.flaw(
                        span.clone(),
                        format!("`{id}.{figure}` is no share"),
                        "name a result in %",
                    );
                }
                Some(_) => {}
            }
        }
    }

    /// That some calculator takes what this column fills.
    fn fills(&mut self, column: &Column, span: Range<usize>) {
        let drawn = self
            .page
            .iter()
            .filter(|block| self.needs.contains(&block.id));
        let inputs: Vec<&str> = drawn
            .flat_map(|block| block.calculator.inputs)
            .map(|input| input.name)
            .collect();
        if !inputs.contains(&column.fills.as_str()) {
            let mend = match inputs.is_empty() {
                true => "name the calculator first: `judge = \"…\"`".into(),
                false => choice(&column.fills, &inputs),
            };
            self.flaw(
                span,
                format!(
                    "no calculator of these readings asks for `{}`",
                    column.fills
                ),
                mend,
            );
        }
    }
}

/// Whether two columns are of one kind.
fn same(one: &Column, other: &Column) -> bool {
    let [Some(one), Some(other)] = [one, other].map(|column| column.dimension) else {
        return false;
    };
    one.name == other.name
}

impl Readings {
    /// The block as HTML: for a reader without a script and for paper a table to fill in by hand;
    /// the script makes the log of it.
    pub fn html(&self, id: &str) -> String {
        let needs: Vec<&str> = self.needs.iter().map(String::as_str).collect();
        let mut html = format!(
            "<section class=\"readings\" id=\"{}\" data-spec=\"{}\" data-needs=\"{}\" aria-label=\"Readings\">\n<div class=\"readings-blank\">\n",
            escape(id),
            escape(&self.spec.write()),
            escape(&needs.join(" ")),
        );
        for column in self.spec.columns.iter().filter(|column| column.once) {
            html.push_str(&format!("<p class=\"to-fill\">{}</p>\n", head(column)));
        }
        html.push_str("<table><thead><tr><th scope=\"col\">No.</th><th scope=\"col\">Time</th>");
        for column in self.spec.each() {
            html.push_str(&format!("<th scope=\"col\">{}</th>", head(column)));
        }
        html.push_str("</tr></thead><tbody>\n");
        let cells = "<td></td>".repeat(1 + self.spec.each().count());
        for line in 1..=LINES {
            html.push_str(&format!("<tr><th scope=\"row\">{line}</th>{cells}</tr>\n"));
        }
        html + "</tbody></table>\n</div>\n</section>\n"
    }
}

/// The head of a column, with its unit.
fn head(column: &Column) -> String {
    let unit = match column.shown_in() {
        "" => String::new(),
        unit => format!(" <span class=\"unit\">{}</span>", escape(unit)),
    };
    escape(&column.label) + &unit
}
