//! The sheet of a page.

use std::cell::RefCell;

use wasm_bindgen::prelude::wasm_bindgen;

use super::results::with_library;
use crate::report::sheet::{Moment, differences};
use crate::sheet::{Sheet, Typed, Worked};

/// The sheet as it was last shown.
struct Page {
    sheet: Sheet,
    keys: Vec<String>,
    typed: Typed,
    worked: Worked,
}

thread_local! {
    /// A page has one sheet at most.
    static PAGE: RefCell<Option<Page>> = const { RefCell::new(None) };
}

/// Takes the sheet of the page, as the builder wrote it, and the numbers of its sentences, a line
/// each. What the builder showed is what is there. Says whether it can be read.
#[wasm_bindgen]
pub fn sheet(text: &str, keys: &str) -> bool {
    let Ok(sheet) = Sheet::read(text) else {
        return false;
    };
    let typed = Typed::default();
    let worked = with_library(|library| sheet.work_out(library, &typed, None));
    let page = Page {
        sheet,
        keys: keys.lines().map(str::to_string).collect(),
        typed,
        worked,
    };
    PAGE.with(|slot| *slot.borrow_mut() = Some(page));
    true
}

/// Works the sheet out with all that is typed, lines of owner, name and text parted by tabs; gives
/// what differs from what is shown, as [`differences`] writes it.
#[wasm_bindgen]
pub fn change(typed: &str, base: &str) -> String {
    PAGE.with(|slot| {
        let mut slot = slot.borrow_mut();
        let Some(page) = slot.as_mut() else {
            return String::new();
        };
        let typed = Typed::read(typed);
        let worked =
            with_library(|library| page.sheet.work_out(library, &typed, Some(&page.worked)));
        let before = Moment {
            typed: &page.typed,
            worked: &page.worked,
        };
        let now = Moment {
            typed: &typed,
            worked: &worked,
        };
        let differ = differences(&page.sheet, &page.keys, before, now, base);
        (page.typed, page.worked) = (typed, worked);
        differ
    })
}
