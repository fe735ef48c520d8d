//! What is due on a day, for both faces: the histories, then the list. It words and draws nothing.

use crate::analysis::due::{DueList, Histories, due};
use crate::fold::Book;
use chrono::NaiveDate;

/// The list of a day, from what was entered for days up to and on it. It estimates every taxon's curve:
/// ask off the input path.
#[must_use]
pub fn due_on(book: &Book, day: NaiveDate) -> DueList {
    due(book, day, &Histories::of(book, day))
}

/// The same at once, without histories: common practice stands in for them.
#[must_use]
pub fn due_at_once(book: &Book, day: NaiveDate) -> DueList {
    due(book, day, &Histories::default())
}
