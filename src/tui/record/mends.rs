//! The amends that would make a refused sum fit: offered after a refusal, taken by one key, dropped as soon as what is
//! typed is another sum. They write nothing themselves.

use crate::app::mends::Mend;
use crate::model::entry::Kind;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::effect::{Act, NewEntry, Refusal};

/// The mends of the sum that is typed.
#[derive(Debug, Default)]
pub struct OfferedMends {
    offered: Vec<Mend>,
    taken: Vec<Mend>,
}

impl OfferedMends {
    /// A refusal offers its own; those taken before stay: one mend may show another, a part's number that its batch
    /// has not.
    pub fn offer(&mut self, refusal: &Refusal) {
        self.offered.clone_from(&refusal.mends);
    }

    /// Whether any is on offer.
    #[must_use]
    pub fn are_offered(&self) -> bool {
        !self.offered.is_empty()
    }

    /// Takes what is on offer.
    pub fn take(&mut self) {
        self.taken.append(&mut self.offered);
    }

    /// Drops all: they do not hold of another sum.
    pub fn drop_all(&mut self) {
        *self = Self::default();
    }

    /// The act with the amends that were taken before it.
    #[must_use]
    pub fn before(&self, mut act: Act) -> Act {
        if self.taken.is_empty() {
            return act;
        }
        if !act.summary.is_empty() {
            act.summary.push_str("; the number put right");
        }
        act.entries.splice(0..0, self.taken.iter().map(put_right));
        act
    }

    /// Draws what is on offer, behind the key that takes it; gives the row after.
    pub fn draw(&self, row: usize, indent: usize, canvas: &mut Canvas<'_>) -> usize {
        let mut row = row;
        for mend in &self.offered {
            canvas.text(row, indent, "=", Tone::Key);
            let mend = format!("{}: put that right and save", mend.sentence());
            row = canvas.wrapped(row, indent + 2, &mend, Tone::Plain);
        }
        row
    }
}

/// The amend that puts the number right.
fn put_right(mend: &Mend) -> NewEntry {
    NewEntry {
        kind: Kind::Amend(Box::new(mend.amend())),
        note: None,
    }
}
