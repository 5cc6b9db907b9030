//! The form that a page shows, made from the calculator's own description.

use crate::calculators::Calculator;
use crate::inputs::{Choice, Column, Input, Kind, Need, split_row, written_rows};
use crate::library::Library;
use crate::markup::escape;

/// What a form is made for.
#[derive(Debug, Clone, Copy)]
pub struct Shape<'s> {
    /// Its name in the page.
    pub id: &'s str,
    /// The author's values; of inputs that draw on others, what they show.
    pub pairs: &'s [(String, String)],
    /// Names of the inputs that draw on values or results of the page.
    pub drawn: &'s [&'s str],
}

/// The form of `calculator`, filled with the author's values. It is closed: the result beside it
/// stands for these values, and only a script that can answer for others opens it. Where any of it
/// draws on other values of the page, it is folded into one line.
pub fn form(calculator: &Calculator, library: &Library, shape: &Shape<'_>) -> String {
    let id = escape(shape.id);
    let pairs = shape.pairs;
    let mut out = format!(
        "<form class=\"calc-form\" novalidate><fieldset class=\"calc-fields\" aria-describedby=\"{id}-closed\" disabled>"
    );
    let one = |input: &Input, out: &mut String| {
        let asked = input.when.is_none_or(|(other, values)| {
            let other = calculator.input(other);
            other.is_none_or(|other| values.contains(&filled(other, pairs)))
        });
        let marks = match (shape.drawn.contains(&input.name), is_given(input, pairs)) {
            (true, _) => " data-drawn data-given",
            (_, true) => " data-given",
            _ => "",
        };
        let marks = if shape.drawn.is_empty() { "" } else { marks };
        field(
            input,
            (asked, marks),
            library,
            &id,
            filled(input, pairs),
            out,
        );
    };
    if !shape.drawn.is_empty() {
        let given = calculator
            .inputs
            .iter()
            .filter(|input| is_given(input, pairs));
        let values: Vec<&str> = given.map(|input| filled(input, pairs)).collect();
        out.push_str(&format!(
            "<details class=\"drawn\"><summary><span class=\"drawn-values\">{}</span> <span class=\"drawn-change\">change here</span></summary><div class=\"calc-form\">",
            escape(&values.join(", "))
        ));
    }
    for input in calculator.inputs {
        one(input, &mut out);
    }
    if !shape.drawn.is_empty() {
        out.push_str("</div></details>");
    }
    out.push_str(&format!(
        "<button type=\"reset\">Back to the page’s values</button>\
         <p class=\"calc-closed\" id=\"{id}-closed\">The result stands for the values printed here. \
         They cannot be changed while the calculators do not run.</p></fieldset></form>"
    ));
    out
}

/// The field of a value that a page gives once: it takes what the input that draws on it takes,
/// under a label of its author's.
pub fn value_field(
    drawn_by: Option<(&Calculator, &Input)>,
    library: &Library,
    name: &str,
    label: &str,
    value: &str,
) -> String {
    let name = escape(name);
    let input = drawn_by.map(|(_, input)| input);
    let kind = input.map_or(&Kind::Words, |input| &input.kind);
    // How far it may be swept, that input says.
    let as_there = drawn_by.map_or(String::new(), |(calculator, input)| {
        format!(" data-as=\"{} {}\"", calculator.name, input.name)
    });
    let help = input.map_or(String::new(), help);
    let attributes = format!(
        "id=\"run-{name}\" name=\"{name}\" data-author=\"{}\" aria-describedby=\"run-{name}-help\"{as_there}",
        escape(value)
    );
    let mut out = format!(
        "<div class=\"field\" data-input=\"{name}\"><label for=\"run-{name}\">{}</label>",
        escape(label)
    );
    control(kind, library, &attributes, value, false, &mut out);
    out.push_str(&format!(
        "<p class=\"help\" id=\"run-{name}-help\">{}</p><p class=\"field-problem\" hidden></p></div>",
        escape(&help)
    ));
    out
}

/// What stands in the box of `input`: the author's value, else its own. A choice stands under
/// its name, though authors may write its label; one that is left alone shows its first line.
fn filled<'v>(input: &Input, pairs: &'v [(String, String)]) -> &'v str {
    let given = pairs.iter().find(|(name, _)| name == input.name);
    let text = given.map_or(input.by_itself(), |(_, text)| text);
    let Kind::Choice(choices) = input.kind else {
        return text;
    };
    let first = choices
        .first()
        .filter(|_| text.is_empty() && input.need != Need::Optional);
    let meant = choices.iter().find(|choice| choice.is(text)).or(first);
    meant.map_or(text, |choice| choice.name)
}

/// Whether the author gave this input.
fn is_given(input: &Input, pairs: &[(String, String)]) -> bool {
    pairs.iter().any(|(name, _)| name == input.name)
}

/// One field; hidden, until the reader's choice asks for it, unless `asked`. `marks` are attributes
/// for the script.
fn field(
    input: &Input,
    (asked, marks): (bool, &str),
    library: &Library,
    id: &str,
    value: &str,
    out: &mut String,
) {
    let name = input.name;
    let when = match input.when {
        Some((other, values)) => format!(" data-when=\"{other}={}\"", values.join("|")),
        None => String::new(),
    };
    let hidden = if asked { "" } else { " hidden" };
    out.push_str(&format!(
        "<div class=\"field\" data-input=\"{name}\"{when}{marks}{hidden}>"
    ));
    if let Kind::Rows(columns) = &input.kind {
        rows(input, columns, library, id, value, out);
    } else {
        out.push_str(&format!(
            "<label for=\"{id}-{name}\">{}</label>",
            escape(input.label)
        ));
        let attributes = format!(
            "id=\"{id}-{name}\" name=\"{name}\" data-author=\"{}\" aria-describedby=\"{id}-{name}-help\"{}",
            escape(value),
            if_left_blank(input)
        );
        control(
            &input.kind,
            library,
            &attributes,
            value,
            input.need == Need::Optional,
            out,
        );
    }
    out.push_str(&format!(
        "<p class=\"help\" id=\"{id}-{name}-help\">{}</p><p class=\"field-problem\" hidden></p></div>",
        escape(&help(input))
    ));
}

/// What a box shows, greyed, when it is left blank and the result is worked out with the preset.
fn if_left_blank(input: &Input) -> String {
    match (&input.need, &input.kind) {
        (_, Kind::Choice(_)) => String::new(),
        (_, Kind::Entry(table)) if *table != "substances" => String::new(),
        (Need::Preset(preset), _) => format!(" placeholder=\"{}\"", escape(preset)),
        _ => String::new(),
    }
}

/// The line of help, with the range where there is one.
fn help(input: &Input) -> String {
    match &input.kind {
        Kind::Quantity(limit) if !limit.unit.is_empty() => {
            format!("{} From {}.", input.help, limit.range())
        }
        _ => input.help.to_string(),
    }
}

/// One box to type in or choose from.
fn control(
    kind: &Kind,
    library: &Library,
    attributes: &str,
    value: &str,
    may_be_blank: bool,
    out: &mut String,
) {
    match kind {
        Kind::Choice(choices) => choose(choices, attributes, value, may_be_blank, out),
        // A short table is a choice; a long one (the substances) is typed, with suggestions.
        Kind::Entry(table) if *table != "substances" => {
            out.push_str(&format!("<select {attributes}>"));
            if may_be_blank {
                out.push_str("<option value=\"\">not chosen</option>");
            }
            for name in library
                .table(table)
                .into_iter()
                .flat_map(|rows| rows.names())
            {
                let selected = if name.eq_ignore_ascii_case(value) {
                    " selected"
                } else {
                    ""
                };
                out.push_str(&format!("<option{selected}>{}</option>", escape(name)));
            }
            out.push_str("</select>");
        }
        _ => {
            let suggestions = match kind {
                Kind::Entry(table) | Kind::EntryOrQuantity(table, _) => {
                    format!(" list=\"{table}\"")
                }
                _ => String::new(),
            };
            out.push_str(&format!(
                "<input {attributes} value=\"{}\" autocomplete=\"off\" autocapitalize=\"none\" spellcheck=\"false\"{suggestions}>",
                escape(value)
            ));
        }
    }
}

fn choose(choices: &[Choice], attributes: &str, value: &str, may_be_blank: bool, out: &mut String) {
    out.push_str(&format!("<select {attributes}>"));
    if may_be_blank {
        out.push_str("<option value=\"\">not chosen</option>");
    }
    for choice in choices {
        let selected = if choice.is(value) { " selected" } else { "" };
        out.push_str(&format!(
            "<option value=\"{}\"{selected}>{}</option>",
            choice.name,
            escape(choice.label)
        ));
    }
    out.push_str("</select>");
}

/// Rows that can be added, removed and moved.
fn rows(
    input: &Input,
    columns: &'static [&'static Column],
    library: &Library,
    id: &str,
    value: &str,
    out: &mut String,
) {
    out.push_str(&format!(
        "<fieldset class=\"rows\" name=\"{}\" data-rows data-author=\"{}\" aria-describedby=\"{id}-{}-help\"><legend>{}</legend>",
        input.name, escape(value), input.name, escape(input.label)
    ));
    for row in written_rows(value) {
        one_row(columns, library, &split_row(columns, row), out);
    }
    out.push_str("<template>");
    one_row(columns, library, &[], out);
    out.push_str(
        "</template><button type=\"button\" data-move=\"add\">Add a row</button></fieldset>",
    );
}

fn one_row(
    columns: &'static [&'static Column],
    library: &Library,
    cells: &[&str],
    out: &mut String,
) {
    out.push_str("<div class=\"row\">");
    for (at, column) in columns.iter().enumerate() {
        let attributes = format!("data-column=\"{}\"", column.name);
        out.push_str(&format!("<label><span>{}</span> ", escape(column.label)));
        control(
            &column.kind,
            library,
            &attributes,
            cells.get(at).copied().unwrap_or(""),
            column.optional,
            out,
        );
        out.push_str("</label>");
    }
    out.push_str(
        "<span class=\"row-moves\">\
         <button type=\"button\" data-move=\"up\" aria-label=\"Move this row up\">↑</button>\
         <button type=\"button\" data-move=\"down\" aria-label=\"Move this row down\">↓</button>\
         <button type=\"button\" data-move=\"remove\" aria-label=\"Remove this row\">✕</button></span></div>",
    );
}
