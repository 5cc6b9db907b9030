//! The order in which cells are worked out: each after those that it draws on.

use super::{Cell, Given, Reference};

/// How far a cell is.
#[derive(Clone, Copy, PartialEq)]
enum State {
    Waits,
    Open,
    Done,
}

/// The places of `cells` in the order in which they are worked out.
///
/// # Errors
/// The names of cells that wait for each other.
pub(super) fn of(values: &[Given], cells: &[Cell]) -> Result<Vec<usize>, Vec<String>> {
    let mut walk = Walk {
        values,
        cells,
        states: vec![State::Waits; cells.len()],
        open: Vec::new(),
        order: Vec::with_capacity(cells.len()),
    };
    for cell in 0..cells.len() {
        walk.visit(cell)?;
    }
    Ok(walk.order)
}

struct Walk<'c> {
    values: &'c [Given],
    cells: &'c [Cell],
    states: Vec<State>,
    /// The way from the first cell to the one at hand.
    open: Vec<usize>,
    order: Vec<usize>,
}

impl Walk<'_> {
    fn visit(&mut self, cell: usize) -> Result<(), Vec<String>> {
        match self.states[cell] {
            State::Done => return Ok(()),
            State::Open => {
                let from = self.open.iter().position(|other| *other == cell);
                let circle = &self.open[from.unwrap_or(0)..];
                let names = circle.iter().map(|at| self.cells[*at].id.clone());
                return Err(names.collect());
            }
            State::Waits => {}
        }
        self.states[cell] = State::Open;
        self.open.push(cell);
        for before in drawn_on(self.values, self.cells, cell) {
            self.visit(before)?;
        }
        self.open.pop();
        self.states[cell] = State::Done;
        self.order.push(cell);
        Ok(())
    }
}

/// The places of the cells that a cell draws on, itself or by a value given once.
fn drawn_on(values: &[Given], cells: &[Cell], cell: usize) -> Vec<usize> {
    let place = |id: &str| cells.iter().position(|other| other.id == id);
    let references = cells[cell].inputs.iter();
    references
        .filter_map(|(_, text)| Reference::read(text))
        .filter_map(|one| match one.result {
            Some(_) => place(one.name),
            None => {
                let given = values.iter().find(|given| given.name == one.name)?;
                let inner = Reference::read(&given.text)?;
                place(inner.name)
            }
        })
        .collect()
}
