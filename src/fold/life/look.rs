//! What one look says: its way, its numbers at or past each milestone, what in it cannot be. It changes no batch.

use super::bench::{self, Stages};
use crate::fold::batch::{Stage, Tally};
use crate::model::composite::About;
use crate::model::entry::Look;
use crate::model::fault::BookFault;
use crate::model::listed::{Guess, How};

/// The way a look was made: as said, else a lift if it counts anything, else a glance.
pub(super) fn way(look: &Look) -> How {
    let counts = look.seen.is_some()
        || look.callused.is_some()
        || look.rooted.is_some()
        || look.bottom.is_some()
        || look.about.is_some();
    look.how
        .unwrap_or(if counts { How::Lift } else { How::Glance })
}

/// The number of `seen` that a spoken guess stands for: the middle of its band (few 1–30 %, half 30–70 %,
/// most 70–95 %; common practice), rounded to the nearest whole, `few` and `most` at least one where there is one.
#[must_use]
pub fn guessed(guess: Guess, seen: u32) -> u32 {
    // Tenths of a per cent keep the middles whole.
    let per_mille: u64 = match guess {
        Guess::None => return 0,
        Guess::All => return seen,
        Guess::Few => 155,
        Guess::Half => 500,
        Guess::Most => 825,
    };
    // The result does not pass `seen`, so the cast is exact.
    let rounded = ((u64::from(seen) * per_mille + 500) / 1000) as u32;
    match guess {
        Guess::Half => rounded,
        _ => rounded.max(1.min(seen)),
    }
}

/// The tally of a look at a batch of which so many remain, and what does not fit.
/// No tally if nothing was examined.
pub(super) fn tally(look: &Look, remain: u32) -> (Option<Tally>, Vec<BookFault>) {
    let how = way(look);
    if how == How::Glance {
        return (None, Vec::new());
    }
    let mut faults = Vec::new();
    let said = look.seen.unwrap_or(remain);
    let seen = fit("seen", said, remain, &mut faults);
    let mut reader = Reader {
        left: seen,
        seen,
        about: look.about.unwrap_or_default(),
        used: About::default(),
        faults,
    };
    let tally = reader.read(look, how);
    let faults = reader.faults;
    ((seen > 0).then_some(tally), faults)
}

/// The number if there are so many, else what there is, and a fault.
pub(super) fn fit(field: &str, said: u32, remain: u32, faults: &mut Vec<BookFault>) -> u32 {
    if said > remain {
        faults.push(BookFault::MoreThanRemain {
            field: field.into(),
            said,
            remain,
        });
    }
    said.min(remain)
}

/// The numbers of a look on their way into a tally, the highest stage first.
struct Reader {
    seen: u32,
    /// Of those seen, not yet given to a stage.
    left: u32,
    about: About,
    used: About,
    faults: Vec<BookFault>,
}

impl Reader {
    fn read(&mut self, look: &Look, how: How) -> Tally {
        let (mut callus, mut root, mut bottom) = (None, None, None);
        if matches!(how, How::Lift | How::Under) {
            self.used.bottom = self.about.bottom.filter(|_| look.bottom.is_none());
            bottom = Some(self.take("bottom", look.bottom, self.used.bottom));
        }
        if matches!(how, How::Lift | How::Tug) {
            self.used.rooted = self.about.rooted.filter(|_| look.rooted.is_none());
            let rooted = self.take("rooted", look.rooted, self.used.rooted);
            root = Some(rooted + bottom.unwrap_or(0));
        }
        if how == How::Lift {
            self.used.callused = self.about.callused.filter(|_| look.callused.is_none());
            let callused = self.take("callused", look.callused, self.used.callused);
            callus = Some(callused + root.unwrap_or(0));
        }
        Tally {
            how,
            seen: self.seen,
            callus,
            root,
            bottom,
            about: (self.used != About::default()).then_some(self.used),
        }
    }

    /// A guess that does not fit beside the counts is cut to what is left: it was never exact.
    fn take(&mut self, field: &str, said: Option<u32>, guess: Option<Guess>) -> u32 {
        let number = match (said, guess) {
            (Some(said), _) => fit(field, said, self.left, &mut self.faults),
            (None, Some(guess)) => guessed(guess, self.seen).min(self.left),
            (None, None) => 0,
        };
        self.left -= number;
        number
    }
}

/// Sets the stages of a bench as a tally found them. Of a batch seen in part, the shares found stand for all.
pub(super) fn apply(tally: &Tally, stages: &mut Stages) {
    let remain = bench::total(stages);
    let scaled = |count: u32| bench::share_out(remain, &[tally.seen - count, count, 0, 0])[1];
    match (tally.callus, tally.root, tally.bottom) {
        (Some(callus), Some(root), Some(bottom)) => {
            let found = [tally.seen - callus, callus - root, root - bottom, bottom];
            *stages = bench::share_out(remain, &found);
        }
        (_, Some(root), _) => bench::set_at_least(stages, Stage::Rooted, scaled(root)),
        (_, _, Some(bottom)) => bench::set_at_least(stages, Stage::Bottom, scaled(bottom)),
        _ => {}
    }
}
