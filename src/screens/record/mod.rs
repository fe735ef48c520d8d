//! Recording: the screens that a recording key opens. They read and offer; the desk writes.

mod amend;
mod by;
pub mod caution;
pub mod drafts;
mod line;
pub mod offers;
pub mod reading;
pub mod short;
mod stick;
pub mod twice;
mod typing;

pub use amend::Amend;
pub use by::By;
pub use line::Line;
pub use stick::Stick;

use crate::book::composite::Set;
use crate::book::entry::{Amend as Change, Kind};
use crate::book::value::FieldType;
use crate::desk::sums::MoreStuck;
use crate::screens::canvas::Canvas;
use crate::screens::effect::{Act, New};
use crate::screens::ink::Meaning;
use offers::Offers;

/// An act with the amends before it that put numbers stuck right.
pub(super) fn mended(mut act: Act, mends: &[MoreStuck]) -> Act {
    if mends.is_empty() {
        return act;
    }
    if !act.said.is_empty() {
        act.said.push_str("; the number put right");
    }
    act.entries.splice(0..0, mends.iter().map(put_right));
    act
}

/// Draws the amends on offer, behind the key that takes them; gives the row after.
pub(super) fn draw_mends(
    mends: &[MoreStuck],
    row: usize,
    indent: usize,
    canvas: &mut Canvas<'_>,
) -> usize {
    let mut row = row;
    for more in mends {
        canvas.text(row, indent, "=", Meaning::Key);
        let mend = format!(
            "{} were {}, not {}: put that right and save",
            more.to,
            more.word(),
            more.from
        );
        row = canvas.wrapped(row, indent + 2, &mend, Meaning::Plain);
    }
    row
}

/// The amend that puts the number stuck right.
fn put_right(more: &MoreStuck) -> New {
    let set: Set = vec![(more.field().to_owned(), more.to.write())];
    New {
        kind: Kind::Amend(Box::new(Change {
            of: more.of.clone(),
            set,
        })),
        note: None,
    }
}

/// The words on offer, the chosen one marked with the key that takes it.
fn draw_offers(offers: &Offers, chosen: usize, row: usize, canvas: &mut Canvas<'_>) {
    for (at, word) in offers.words.iter().enumerate() {
        let mark = if at == chosen { "=" } else { " " };
        let end = canvas.text(row + at, 2, mark, Meaning::Key);
        canvas.text(row + at, end + 1, word, Meaning::Plain);
    }
}
