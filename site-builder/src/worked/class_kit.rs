//! Part of stage 5: the kit of an experiment, a `kit` block. Everything the page's drawings need,
//! added up for a bench and for a class.
//!
//! ```toml
//! groups = 8                       # else those of the page's class-quantities block
//! once = ["vacuum-distillation"]   # set up once for all, as by the demonstrator
//! with = ["hot-filtration"]        # assemblies that are used here and drawn elsewhere
//! also = ["mortar with pestle", "3 × beaker, 250 mL"]
//! ```

use crate::apparatus::words::Fill;
use crate::apparatus::{Assembly, KitLine, kit};
use crate::finding::{Flaw, choice, spelling};
use crate::worked::given;
use crate::worked::numbers::Worked;
use calc_wasm::markup::escape;
use calc_wasm::number;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// An assembly of the page.
#[derive(Clone, Debug)]
pub struct SetUp {
    /// The file it is kept in, or nothing where it is written in the page.
    pub name: Option<String>,
    /// The assembly.
    pub assembly: Assembly,
    /// Its figure's id in the page.
    pub id: String,
    /// What parts of it hold in the run of the page.
    pub fills: Vec<Fill>,
    /// Its drawing, whose ids begin with that id.
    pub svg: String,
}

/// A set-up's drawing for another page, where `id` takes the place of its `own`. Placing the
/// numbers takes longest of all, so it is not drawn again.
pub fn svg_as(id: &str, svg: &str, own: &str) -> String {
    svg.replace(&format!("{own}-"), &format!("{id}-"))
}

/// What an experiment needs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ClassKit {
    /// Titles of the set-ups that every bench has.
    pub standing: Vec<String>,
    /// For one bench, all its set-ups standing.
    pub bench: Vec<KitLine>,
    /// The most that one of its set-ups needs.
    pub in_turn: Vec<KitLine>,
    /// What is set up once for all.
    pub once: Vec<KitLine>,
    /// For the class.
    pub class: Vec<KitLine>,
    /// How many benches.
    pub groups: usize,
}

const FIELDS: [&str; 4] = ["groups", "once", "with", "also"];
/// The largest class, in benches.
const MOST: i64 = 500;

/// Reads a `kit` block and adds up.
///
/// # Errors
/// All flaws, by bytes of `body`.
pub fn read(
    body: &str,
    drawn: &[SetUp],
    kept: &BTreeMap<&str, Option<Assembly>>,
    page: &[Worked],
) -> Result<ClassKit, Vec<Flaw>> {
    let root = DeTable::parse(body).map_err(|error| vec![given::syntax(body, &error)])?;
    let root = root.into_inner();
    let mut reader = Reader { flaws: Vec::new() };
    for (key, _) in &root {
        let name = key.get_ref().as_ref();
        if !FIELDS.contains(&name) {
            let mend = choice(name, &FIELDS);
            reader.flaw(key.span(), format!("a kit has no `{name}`"), mend);
        }
    }
    let groups = reader.groups(&root, body, page);

    let mut each: Vec<(String, Vec<KitLine>)> = Vec::new();
    let mut once: Vec<Vec<KitLine>> = Vec::new();
    let alone = reader.names(&root, "once");
    let is = |set_up: &SetUp, name: &str| {
        set_up.name.as_deref() == Some(name) || set_up.assembly.title() == name
    };
    for (name, span) in &alone {
        if !drawn.iter().any(|set_up| is(set_up, name)) {
            let known = drawn
                .iter()
                .map(|it| it.name.as_deref().unwrap_or(it.assembly.title()));
            let mend = spelling(name, known)
                .unwrap_or_else(|| "name an assembly of a drawing above".to_owned());
            reader.flaw(span.clone(), format!("no drawing above is `{name}`"), mend);
        }
    }
    for set_up in drawn {
        if alone.iter().any(|(name, _)| is(set_up, name)) {
            once.push(set_up.assembly.kit());
        } else {
            each.push((set_up.assembly.title().to_owned(), set_up.assembly.kit()));
        }
    }
    for (name, span) in reader.names(&root, "with") {
        match kept.get(name.as_str()) {
            Some(Some(assembly)) => each.push((assembly.title().to_owned(), assembly.kit())),
            // Its own file has the findings.
            Some(None) => {}
            None => {
                let mend = spelling(&name, kept.keys().copied())
                    .unwrap_or_else(|| "`content/assemblies/` has no such file".to_owned());
                reader.flaw(span, format!("there is no assembly `{name}`"), mend);
            }
        }
    }
    let also: Vec<KitLine> = reader
        .names(&root, "also")
        .iter()
        .map(|(words, _)| line(words))
        .collect();
    if each.is_empty() && once.is_empty() && also.is_empty() && reader.flaws.is_empty() {
        reader.flaw(
            0..body.trim_end().len(),
            "no drawing stands above, so there is nothing to add up",
            "put the block below the drawings, or name assemblies in `with`",
        );
    }
    if !reader.flaws.is_empty() {
        return Err(reader.flaws);
    }
    let singly =
        |lists: &[&[KitLine]]| kit::sum(&lists.iter().map(|list| (1, *list)).collect::<Vec<_>>());
    let standing: Vec<&[KitLine]> = each
        .iter()
        .map(|(_, lines)| lines.as_slice())
        .chain([also.as_slice()])
        .collect();
    let bench = singly(&standing);
    let once = singly(&once.iter().map(Vec::as_slice).collect::<Vec<_>>());
    let mut in_turn = bench.clone();
    for line in &mut in_turn {
        let most = |list: &&[KitLine]| {
            let same = |other: &&KitLine| other.name == line.name && other.unit == line.unit;
            list.iter()
                .filter(same)
                .map(|other| other.quantity)
                .sum::<f64>()
        };
        line.quantity = standing.iter().map(most).fold(0.0, f64::max);
    }
    Ok(ClassKit {
        standing: each.into_iter().map(|(title, _)| title).collect(),
        class: kit::sum(&[(groups, &bench), (1, &once)]),
        bench,
        in_turn,
        once,
        groups,
    })
}

/// `3 × beaker, 250 mL` as a line of a list.
fn line(words: &str) -> KitLine {
    let counted = words
        .split_once('×')
        .and_then(|(number, label)| Some((number.trim().parse::<u32>().ok()?, label.trim())));
    let (number, label) = counted.unwrap_or((1, words.trim()));
    KitLine {
        name: label.to_owned(),
        label: label.to_owned(),
        quantity: f64::from(number),
        unit: String::new(),
        instead: Vec::new(),
    }
}

struct Reader {
    flaws: Vec<Flaw>,
}

impl Reader {
    fn groups(&mut self, root: &DeTable<'_>, body: &str, page: &[Worked]) -> usize {
        let Some(value) = root.get("groups") else {
            let given = page
                .iter()
                .filter(|block| block.calculator.name == "class-quantities")
                .flat_map(|block| &block.pairs)
                .find(|(name, _)| name == "groups");
            let given = given.and_then(|(_, text)| text.trim().parse().ok());
            return given.unwrap_or_else(|| {
                self.flaw(
                    0..body.trim_end().len(),
                    "the kit does not say for how many groups",
                    "add `groups = 8`, or put a class-quantities block above it",
                );
                0
            });
        };
        let number = match value.get_ref() {
            DeValue::Integer(number) => number.to_string().parse::<i64>().ok(),
            _ => None,
        };
        match number.filter(|number| (1..=MOST).contains(number)) {
            Some(number) => number.unsigned_abs() as usize,
            None => {
                let message = format!("`groups` is not a whole number from 1 to {MOST}");
                self.flaw(value.span(), message, "write how many benches work");
                0
            }
        }
    }

    fn names(&mut self, root: &DeTable<'_>, field: &str) -> Vec<(String, Range<usize>)> {
        let Some(value) = root.get(field) else {
            return Vec::new();
        };
        let word = |item: &Spanned<DeValue<'_>>| {
            let words = item.get_ref().as_str()?.trim().to_owned();
            (!words.is_empty()).then(|| (words, item.span()))
        };
        let items = value.get_ref().as_array();
        match items.and_then(|items| items.iter().map(word).collect()) {
            Some(names) => names,
            None => {
                self.flaw(
                    value.span(),
                    format!("`{field}` is not a list of words"),
                    format!("write `{field} = [\"…\", \"…\"]`"),
                );
                Vec::new()
            }
        }
    }

    fn flaw(&mut self, span: Range<usize>, message: impl Into<String>, mend: impl Into<String>) {
        self.flaws.push(Flaw::new(span, message).mend(mend));
    }
}

impl ClassKit {
    /// The table, with what it rests on.
    pub fn html(&self) -> String {
        let once = !self.once.is_empty();
        let mut html = String::from(
            "<div class=\"wide\" role=\"region\" aria-label=\"Kit\" tabindex=\"0\"><table class=\"kit-table\"><thead><tr><th scope=\"col\">Part</th><th scope=\"col\">A bench</th>",
        );
        if once {
            html.push_str("<th scope=\"col\">Once, for all</th>");
        }
        let _ = writeln!(
            html,
            "<th scope=\"col\">{} benches</th></tr></thead><tbody>",
            self.groups
        );
        for line in &self.class {
            let _ = write!(html, "<tr><th scope=\"row\">{}</th>", escape(&line.label));
            let benches = format!("{} benches", self.groups);
            let lists = [
                Some((&self.bench, "A bench")),
                once.then_some((&self.once, "Once, for all")),
                Some((&self.class, benches.as_str())),
            ];
            for (list, head) in lists.into_iter().flatten() {
                let same = |other: &&KitLine| other.name == line.name && other.unit == line.unit;
                let number = list.iter().find(same).map_or(String::new(), amount);
                let _ = write!(html, "<td data-head=\"{head}\">{number}</td>");
            }
            html.push_str("</tr>\n");
        }
        html.push_str("</tbody></table></div>\n");
        let _ = writeln!(
            html,
            "<p class=\"kit-counted\">{}</p>",
            escape(&self.counted())
        );
        html
    }

    /// What the sums rest on, and what is saved by taking set-ups down in between.
    fn counted(&self) -> String {
        let mut words = String::from("Counted with all set-ups of a bench standing");
        if !self.standing.is_empty() {
            let _ = write!(words, ": {}", self.standing.join("; "));
        }
        words.push('.');
        let fewer: Vec<String> = self
            .bench
            .iter()
            .zip(&self.in_turn)
            .filter(|(all, most)| all.quantity > most.quantity)
            .map(|(all, most)| format!("{} (not {}) {}", amount(most), amount(all), all.label))
            .collect();
        if !fewer.is_empty() {
            let _ = write!(
                words,
                " Where each is taken down before the next is built, a bench needs only {}.",
                fewer.join("; ")
            );
        }
        words
    }

    /// One bench in a sentence, for a card.
    pub fn card(&self) -> String {
        let words: Vec<String> = self
            .in_turn
            .iter()
            .map(|line| match (line.unit.as_str(), line.quantity > 1.0) {
                ("", false) => escape(&line.label),
                ("", true) => format!("{} × {}", amount(line), escape(&line.label)),
                _ => format!("{} {}", amount(line), escape(&line.label)),
            })
            .collect();
        format!("<p>{}.</p>", words.join("; "))
    }
}

/// `3`, `4.5 m`.
fn amount(line: &KitLine) -> String {
    let number = number::plain(line.quantity, 4);
    if line.unit.is_empty() {
        number
    } else {
        format!("{number} {}", line.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_alone(body: &str) -> Result<ClassKit, Vec<Flaw>> {
        read(body, &[], &BTreeMap::new(), &[])
    }

    #[test]
    fn adds_up_for_bench_and_class() {
        let kit =
            read_alone("groups = 8\nalso = [\"3 × beaker, 250 mL\", \"mortar\"]\n").expect("sound");
        let shown: Vec<_> = kit
            .class
            .iter()
            .map(|line| (line.label.as_str(), amount(line)))
            .collect();
        assert_eq!(
            shown,
            [("beaker, 250 mL", "24".into()), ("mortar", "8".into())]
        );
        assert!(
            kit.html()
                .contains("<th scope=\"row\">beaker, 250 mL</th><td data-head=\"A bench\">3</td><td data-head=\"8 benches\">24</td>")
        );
    }

    #[test]
    fn takes_the_groups_of_the_class_quantities() {
        let page = [Worked::on_a_page(
            "class-quantities",
            "class-quantities",
            &[("groups", "12")],
        )];
        let kit = read("also = [\"mortar\"]", &[], &BTreeMap::new(), &page).expect("sound");
        assert_eq!(kit.groups, 12);
    }

    #[test]
    fn says_where_a_kit_is_wrong() {
        let wrong = |body: &str| read_alone(body).expect_err("flaws")[0].message.clone();
        assert!(wrong("also = [\"mortar\"]").contains("for how many groups"));
        assert!(wrong("groups = 0\nalso = [\"mortar\"]").contains("whole number from 1"));
        assert!(wrong("groups = 8\nwith = [\"still\"]").contains("no assembly `still`"));
        assert!(wrong("groups = 8\nonce = [\"still\"]").contains("no drawing above"));
        assert!(wrong("groups = 8").contains("nothing to add up"));
        assert!(wrong("groups = 8\ngruops = 3").contains("no `gruops`"));
    }
}
