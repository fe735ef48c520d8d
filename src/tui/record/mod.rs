//! Recording: the screens that a recording key opens. They read and offer; the desk writes.

mod amend;
mod by;
pub mod caution;
pub mod drafts;
mod line;
pub mod mends;
pub mod offers;
pub mod reading;
pub mod short;
mod stick;
mod trays;
pub mod twice;
mod typing;

pub use amend::Amend;
pub use by::By;
pub use line::Line;
pub use stick::Stick;

use crate::tui::canvas::Canvas;
use crate::tui::ink::Meaning;
use offers::Offers;
use typing::Meant;

/// What was meant, with the key that puts it right; gives the row after.
fn draw_meant(meant: Option<&Meant>, row: usize, canvas: &mut Canvas<'_>) -> usize {
    let Some(Meant { word, .. }) = meant else {
        return row;
    };
    let end = canvas.text(row, 2, "=", Meaning::Key);
    canvas.text(row, end + 1, word, Meaning::Plain);
    row + 1
}

/// The words on offer, the chosen one marked with the key that takes it.
fn draw_offers(offers: &Offers, chosen: usize, row: usize, canvas: &mut Canvas<'_>) {
    for (at, word) in offers.words.iter().enumerate() {
        let mark = if at == chosen { "=" } else { " " };
        let end = canvas.text(row + at, 2, mark, Meaning::Key);
        canvas.text(row + at, end + 1, word, Meaning::Plain);
    }
}
