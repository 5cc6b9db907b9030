//! Working a sheet out: each cell once, after those that it draws on.

use std::sync::Arc;

use super::drawn::{self, Drawn, Reference};
use super::{Cell, RUN, Sheet};
use crate::library::Library;
use crate::outcome::{Figure, Outcome};
use crate::problem::Problem;

/// What a reader typed in place of the author's: owner ([`RUN`] or a cell), name, text. A blank
/// text leaves the input out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Typed(Vec<(String, String, String)>);

impl Typed {
    /// Reads lines `owner`, `name`, `text`, parted by tabs; what is none is left out.
    pub fn read(lines: &str) -> Self {
        let read = lines.lines().filter_map(|line| {
            let mut words = line.splitn(3, '\t').map(str::to_string);
            Some((words.next()?, words.next()?, words.next()?))
        });
        Typed(read.collect())
    }

    /// Puts `text` in place of the author's.
    pub fn put(&mut self, owner: &str, name: &str, text: &str) {
        self.0
            .push((owner.to_string(), name.to_string(), text.to_string()));
    }

    fn of(&self, owner: &str, name: &str) -> Option<&str> {
        let mut typed = self.0.iter();
        typed
            .find(|(its, called, _)| its == owner && called == name)
            .map(|(_, _, text)| text.as_str())
    }

    /// Whether this input was typed.
    pub fn has(&self, owner: &str, name: &str) -> bool {
        self.of(owner, name).is_some()
    }

    /// The names that were typed for `owner`.
    fn names<'t>(&'t self, owner: &'t str) -> impl Iterator<Item = &'t str> {
        let its = self.0.iter().filter(move |(its, _, _)| its == owner);
        its.map(|(_, name, _)| name.as_str())
    }
}

/// What a cell came to.
#[derive(Debug, Clone)]
pub enum Answer {
    /// A result.
    Worked(Arc<Outcome>),
    /// Inputs that cannot be used.
    Refused(Vec<Problem>),
    /// It draws on the cell at this place, which has no answer, or no such result for these values.
    Waits(usize),
}

/// A sheet worked out.
#[derive(Debug, Clone)]
pub struct Worked {
    /// What each value given once came to, as a form shows it.
    values: Vec<String>,
    cells: Vec<Done>,
}

/// A cell worked out.
#[derive(Debug, Clone)]
struct Done {
    /// All that its answer hangs on.
    key: String,
    answer: Arc<Answer>,
    /// What each input that draws on another got, as a form shows it.
    drawn: Vec<(String, String)>,
}

impl Sheet {
    /// Works out every cell with what was typed. `before` is the same sheet as it was: what hangs
    /// on nothing that changed is taken from there.
    pub fn work_out(&self, library: &Library, typed: &Typed, before: Option<&Worked>) -> Worked {
        let mut done: Vec<Option<Done>> = vec![None; self.cells.len()];
        for &place in &self.order {
            let before = before.and_then(|before| before.cells.get(place));
            let cell = self.cell(&self.cells[place], library, typed, &done, before);
            done[place] = Some(cell);
        }
        let values = self.values.iter().map(|given| {
            let whole = Reference {
                name: &given.name,
                result: None,
                error: None,
            };
            let drawn = self.draw_value(&whole, typed, &done);
            drawn.map_or(String::from("–"), |drawn| drawn.shown())
        });
        // The order holds every cell.
        Worked {
            values: values.collect(),
            cells: done.into_iter().flatten().collect(),
        }
    }

    fn cell(
        &self,
        cell: &Cell,
        library: &Library,
        typed: &Typed,
        done: &[Option<Done>],
        before: Option<&Done>,
    ) -> Done {
        let mut inputs: Vec<(&str, Drawn)> = Vec::new();
        let mut shown = Vec::new();
        let mut waits = None;
        for name in names(cell, typed) {
            let own = typed.of(&cell.id, name);
            let written = cell.inputs.iter().find(|(called, _)| called == name);
            let reference = written.and_then(|(_, text)| Reference::read(text));
            let value = match (&reference, written) {
                (Some(reference), _) => match self.draw(reference, typed, done) {
                    Ok(drawn) => {
                        shown.push((name.to_string(), drawn.shown()));
                        Some(drawn)
                    }
                    Err(place) => {
                        if own.is_none() {
                            waits.get_or_insert(place);
                        }
                        None
                    }
                },
                (None, Some((_, text))) => Some(Drawn::Text(text.clone())),
                (None, None) => None,
            };
            let value = own.map(|own| Drawn::Text(own.to_string())).or(value);
            inputs.extend(value.map(|value| (name, value)));
        }
        leave_out_unasked(cell, &mut inputs);
        let mut key = waits.map_or(String::new(), |place| place.to_string());
        for (name, drawn) in &inputs {
            key.push('\n');
            key.push_str(name);
            key.push('=');
            drawn.key(&mut key);
        }
        let answer = match before.filter(|before| before.key == key) {
            Some(before) => Arc::clone(&before.answer),
            None => Arc::new(match waits {
                Some(place) => Answer::Waits(place),
                None => answer(cell, library, inputs),
            }),
        };
        Done {
            key,
            answer,
            drawn: shown,
        }
    }

    /// What a reference gives; or the place of the cell for which it waits. (A sheet holds no
    /// reference to a cell that is not there.)
    fn draw(
        &self,
        reference: &Reference<'_>,
        typed: &Typed,
        done: &[Option<Done>],
    ) -> Result<Drawn, usize> {
        let Some(result) = reference.result else {
            return self.draw_value(reference, typed, done);
        };
        let place = self.place(reference.name).unwrap_or_default();
        let answer = done.get(place).and_then(Option::as_ref).ok_or(place)?;
        let Answer::Worked(outcome) = &*answer.answer else {
            return Err(place);
        };
        let figure = outcome.figure(result).ok_or(place)?;
        Ok(drawn::from_figure(figure, reference.error))
    }

    /// A value given once: what was typed for it, else the author's, which may draw on a result.
    fn draw_value(
        &self,
        reference: &Reference<'_>,
        typed: &Typed,
        done: &[Option<Done>],
    ) -> Result<Drawn, usize> {
        let given = self
            .values
            .iter()
            .find(|given| given.name == reference.name);
        let author = given.map_or("", |given| given.text.as_str());
        let own = typed.of(RUN, reference.name);
        match (own, Reference::read(author)) {
            (None, Some(inner)) if inner.result.is_some() => {
                let error = reference.error.or(inner.error);
                self.draw(&Reference { error, ..inner }, typed, done)
            }
            _ => Ok(drawn::from_value(own.unwrap_or(author), reference.error)),
        }
    }
}

/// Names of the inputs that the author or the reader gave.
fn names<'c>(cell: &'c Cell, typed: &'c Typed) -> Vec<&'c str> {
    let mut names: Vec<&str> = cell.inputs.iter().map(|(name, _)| name.as_str()).collect();
    for name in typed.names(&cell.id) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// Takes out what the form does not ask for with these values.
fn leave_out_unasked(cell: &Cell, inputs: &mut Vec<(&str, Drawn)>) {
    let described = |name: &str| cell.calculator.input(name);
    let word = |inputs: &[(&str, Drawn)], of: &'static str| -> String {
        let given = inputs.iter().find(|(name, _)| *name == of);
        match given {
            Some((_, Drawn::Text(text))) => text.clone(),
            _ => described(of).map_or(String::new(), |input| input.by_itself().to_string()),
        }
    };
    let unasked: Vec<&str> = inputs
        .iter()
        .filter(|(name, _)| {
            let when = described(name).and_then(|input| input.when);
            when.is_some_and(|(other, wanted)| {
                let chosen = word(inputs, other);
                let is = |value: &&&str| described(other).is_some_and(|o| o.means(&chosen, value));
                wanted.iter().find(is).is_none()
            })
        })
        .map(|(name, _)| *name)
        .collect();
    inputs.retain(|(name, _)| !unasked.contains(name));
}

fn answer(cell: &Cell, library: &Library, inputs: Vec<(&str, Drawn)>) -> Answer {
    let mut texts = Vec::new();
    let mut carried = Vec::new();
    for (name, drawn) in inputs {
        match drawn {
            Drawn::Text(text) => texts.push((name.to_string(), text)),
            Drawn::Number(number) => carried.push((name.to_string(), number)),
        }
    }
    match cell.calculator.run_on_sheet(library, &texts, &carried) {
        Ok(outcome) => Answer::Worked(Arc::new(outcome)),
        Err(problems) => Answer::Refused(problems),
    }
}

impl Worked {
    /// What the cell at `place` came to.
    pub fn answer(&self, place: usize) -> Option<&Arc<Answer>> {
        self.cells.get(place).map(|cell| &cell.answer)
    }

    /// What each input of the cell at `place` that draws on another got, as a form shows it.
    pub fn drawn(&self, place: usize) -> &[(String, String)] {
        self.cells.get(place).map_or(&[], |cell| &cell.drawn)
    }

    /// What the value called `name` came to, as a form shows it.
    pub fn value(&self, sheet: &Sheet, name: &str) -> Option<&str> {
        let place = sheet.values.iter().position(|given| given.name == name)?;
        self.values.get(place).map(String::as_str)
    }

    /// A result of the cell called `id`.
    pub fn figure(&self, sheet: &Sheet, id: &str, result: &str) -> Option<&Figure> {
        match &**self.answer(sheet.place(id)?)? {
            Answer::Worked(outcome) => outcome.figure(result),
            Answer::Refused(_) | Answer::Waits(_) => None,
        }
    }
}
