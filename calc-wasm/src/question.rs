//! A question as it is typed into the search, read as a calculation: `toluene 100 mmHg`,
//! `bp ethyl benzoate 15 torr`, `flash column 400 mg`, `10 % v/v`.
//!
//! First the numbers are taken out, each with its unit and its error, then the names of liquids,
//! by the longest run of words that a table knows. What is left says what is wanted. A text that
//! is not clearly a question to one calculator is none: the search then answers by itself.

use crate::calculators::{self, Calculator};
use crate::library::{Library, Record};
use crate::number;
use crate::problem::{self, small};
use crate::quantity::{
    Dimension, Fraction, Mass, Pressure, Quantity, Reading, Temperature, digits, read as quantity,
};

/// What a text asks of a calculator.
#[derive(Debug)]
pub struct Question {
    /// The calculator.
    pub calculator: &'static Calculator,
    /// Its inputs as far as the text says them; the others keep what they are by themselves.
    pub pairs: Vec<(String, String)>,
    /// Names of the results that answer it.
    pub wanted: &'static [&'static str],
    /// Whether the text says all that the answer hangs on. Else only the way there can be shown.
    pub whole: bool,
}

impl Question {
    fn of(calculator: &str, wanted: &'static [&'static str]) -> Option<Self> {
        Some(Question {
            calculator: calculators::find(calculator)?,
            pairs: Vec::new(),
            wanted,
            whole: true,
        })
    }

    fn with(mut self, input: &str, text: &str) -> Self {
        self.pairs.push((input.to_string(), text.to_string()));
        self
    }

    fn and(self, input: &str, text: Option<&Said<'_>>) -> Self {
        match text {
            Some(said) => self.with(input, &said.text),
            None => self,
        }
    }
}

/// A number with its unit, or a name, and where in the text it stood.
struct Said<'l> {
    text: String,
    at: usize,
    reading: Option<Reading>,
    kind: &'l str,
}

/// A text taken apart.
struct Words<'l> {
    /// The words that are neither number nor name, in small letters.
    left: Vec<String>,
    numbers: Vec<Said<'static>>,
    names: Vec<Said<'l>>,
}

/// Kinds of quantity that a question may hold.
static KINDS: [&Dimension; 4] = [
    Pressure::DIMENSION,
    Temperature::DIMENSION,
    Mass::DIMENSION,
    Fraction::DIMENSION,
];

/// More words than a name or a number with its error has.
const LONGEST: usize = 5;

/// Words with which another question begins than those asked here: where they stand, a liquid and
/// a temperature do not mean boiling.
const OTHERWISE: [&str; 10] = [
    "melt", "mp", "dens", "solub", "dissol", "recryst", "cool", "ice", "visco", "flash",
];

impl<'l> Words<'l> {
    #[inline(never)]
    fn read(library: &'l Library, text: &str) -> Self {
        let trim = |word| str::trim_matches(word, ['?', ',', ';', '.', '!']);
        let words: Vec<&str> = text.split_whitespace().map(trim).collect();
        let mut all = Words {
            left: Vec::new(),
            numbers: Vec::new(),
            names: Vec::new(),
        };
        let mut at = 0;
        while let Some(word) = words.get(at) {
            let most = LONGEST.min(words.len() - at);
            let taken = (1..=most)
                .rev()
                .find(|length| all.take(library, &words[at..at + length], at));
            if taken.is_none() {
                all.left.push(small(word));
            }
            at += taken.unwrap_or(1);
        }
        all
    }

    /// Takes these words as one number or one name, if they are one.
    fn take(&mut self, library: &'l Library, words: &[&str], at: usize) -> bool {
        let text = words.join(" ");
        if let Some((kind, reading)) = number_of(&text) {
            self.numbers.push(Said {
                text,
                at,
                reading: Some(reading),
                kind,
            });
            return true;
        }
        let Some(record) = liquid(library, &text) else {
            return false;
        };
        self.names.push(Said {
            text: record.name().to_string(),
            at,
            reading: None,
            kind: "",
        });
        true
    }

    /// Takes a word that is left for a liquid spelt a little otherwise.
    #[inline(never)]
    fn forgive(&mut self, library: &Library) {
        let table = library.rows("substances");
        let known: Vec<&str> = table
            .flat_map(|row| row.list("aliases").chain([row.name()]))
            .collect();
        let found = self.left.iter().find_map(|word| {
            let near = problem::nearest(word, known.iter().copied())?;
            let slips = strsim::osa_distance(word, &small(near));
            (word.len() > 4 && slips * 5 <= word.len()).then_some(near)
        });
        if let Some(record) = found.and_then(|near| liquid(library, near)) {
            self.names.push(Said {
                text: record.name().to_string(),
                at: 0,
                reading: None,
                kind: "",
            });
        }
    }

    /// Whether a word that is left begins with one of these.
    fn has(&self, beginnings: &[&str]) -> bool {
        let begins = |word: &String| beginnings.iter().any(|start| word.starts_with(start));
        self.left.iter().any(begins)
    }

    fn number(&self, dimension: &Dimension) -> Option<&Said<'static>> {
        self.numbers.iter().find(|said| said.kind == dimension.name)
    }
}

/// The number that this text is, with the kind that its unit says.
fn number_of(text: &str) -> Option<(&'static str, Reading)> {
    digits::lead(text.trim_start_matches('(')).ok()??;
    KINDS.iter().find_map(|dimension| {
        let reading = quantity(text, dimension).ok()?;
        // A bare number may be anything.
        let bare = dimension.name == Fraction::DIMENSION.name && !text.contains(['%', 'p']);
        (!bare).then_some((dimension.name, reading))
    })
}

/// The liquid of this name in the tables.
fn liquid<'l>(library: &'l Library, name: &str) -> Option<Record<'l>> {
    let mut tables = ["substances", "solvents"].iter();
    tables.find_map(|table| library.table(table)?.find(name))
}

/// Words that ask for boiling.
const BOILING: [&str; 6] = ["bp", "b.p", "boil", "distil", "vacuum", "vapo"];

/// The question that `text` is, if it is one.
pub fn read(library: &Library, text: &str) -> Option<Question> {
    let mut words = Words::read(library, text);
    let heated = words.has(&BOILING) || words.has(&["steam", "bath"]);
    if words.names.is_empty() && (heated || words.number(Pressure::DIMENSION).is_some()) {
        words.forgive(library);
    }
    if let Some(share) = words.number(Fraction::DIMENSION) {
        return blend(&words, share);
    }
    let mass = words.number(Mass::DIMENSION);
    if mass.is_some() && words.has(&["flash", "column", "silica", "chromatogr"]) {
        let column = Question::of("flash-column", &["diameter", "adsorbent", "eluent"])?;
        return Some(column.and("sample_mass", mass));
    }
    match &words.names[..] {
        [] => of_none(&words),
        [one] => of_one(&words, one),
        [one, other] => of_two(&words, one, other),
        _ => None,
    }
}

/// A pressure without a liquid leads only to where one can be named.
fn of_none(words: &Words<'_>) -> Option<Question> {
    let pressure = words.number(Pressure::DIMENSION);
    if pressure.is_none() || !words.has(&BOILING) {
        return None;
    }
    let question = Question::of("boiling-point", &["temperature"])?;
    Some(Question {
        whole: false,
        ..question.and("pressure", pressure)
    })
}

/// What is asked of one liquid. The page keeps what was typed there last, so a boiling point says
/// its pressure always.
fn of_one(words: &Words<'_>, one: &Said<'_>) -> Option<Question> {
    let pressure = words.number(Pressure::DIMENSION);
    let temperature = words.number(Temperature::DIMENSION);
    let boiling = words.has(&BOILING);
    let (calculator, wanted) = match () {
        () if words.has(&OTHERWISE) => return None,
        () if words.has(&["steam"]) => ("steam-distillation", &["temperature", "mass_ratio"][..]),
        () if words.has(&["bath"]) => ("bath-setting", &["bath_temperature"][..]),
        () if boiling && temperature.is_some() && pressure.is_none() => {
            ("boiling-pressure", &["pressure"][..])
        }
        () if boiling || pressure.is_some() => ("boiling-point", &["temperature"][..]),
        () => return None,
    };
    let question = Question::of(calculator, wanted)?
        .with("substance", &one.text)
        .and("pressure", pressure);
    Some(match calculator {
        "steam-distillation" => question.and("amount", words.number(Mass::DIMENSION)),
        "boiling-pressure" => question.and("temperature", temperature),
        "boiling-point" if pressure.is_none() => question.with("pressure", "760 mmHg"),
        _ => question,
    })
}

/// How two liquids boil together.
fn of_two(words: &Words<'_>, one: &Said<'_>, other: &Said<'_>) -> Option<Question> {
    if !words.has(&BOILING) && !words.has(&["azeo", "mix"]) {
        return None;
    }
    let wanted = &["temperature", "azeotrope", "azeotrope_temperature"];
    let mixture = Question::of("mixture-boiling", wanted)?
        .with("first", &one.text)
        .with("second", &other.text);
    Some(mixture.and("pressure", words.number(Pressure::DIMENSION)))
}

/// An eluent by volume: the share is that of the liquid named behind it, else of the one before.
/// Where one liquid or none is named, the rest is the eluent that the calculator has by itself.
fn blend(words: &Words<'_>, share: &Said<'_>) -> Option<Question> {
    let percent = share.reading?.value * 100.0;
    if !(0.0..=100.0).contains(&percent) || words.names.len() > 2 {
        return None;
    }
    let behind = words.names.iter().find(|name| name.at > share.at);
    let own = behind.or(words.names.first());
    let rest = words
        .names
        .iter()
        .find(|name| own.is_none_or(|own| own.at != name.at));
    // Of one liquid alone, or none, only a word tells that parts by volume are meant.
    if rest.is_none() && !words.has(&["v/v", "eluent", "vol"]) {
        return None;
    }
    let name = |said: Option<&Said<'_>>, by_itself: &str| {
        said.map_or(by_itself.to_string(), |said| said.text.clone())
    };
    let mut solvents = name(rest, "hexane");
    solvents.push_str(": ");
    solvents.push_str(&number::plain(100.0 - percent, 6));
    solvents.push_str(" %; ");
    solvents.push_str(&name(own, "ethyl acetate"));
    solvents.push_str(": ");
    solvents.push_str(&number::plain(percent, 6));
    solvents.push_str(" %");
    let question = Question::of("eluent-blend", &["polarity_index"])?;
    Some(question.with("solvents", &solvents))
}
