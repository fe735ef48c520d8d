//! What one look says: its way, its numbers at or past each milestone, what in it cannot be. It changes no batch.

use super::bench::{self, Stages};
use crate::fold::batch::{Fall, Milestone, Tally};
use crate::model::composite::SpokenGuesses;
use crate::model::entry::Look;
use crate::model::fault::BookFault;
use crate::model::listed::{Guess, LookMethod};

/// The number of `seen` that a spoken guess stands for: the middle of its band (few 1–30 %, half 30–70 %,
/// most 70–95 %; common practice), rounded to the nearest whole, `few` and `most` at least one where there is one.
fn guessed(guess: Guess, seen: u32) -> u32 {
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
    let how = look.method();
    if how == LookMethod::Glance {
        return (None, Vec::new());
    }
    let mut faults = Vec::new();
    let said = look.seen.unwrap_or(remain);
    let seen = fit("seen", said, remain, &mut faults);
    let mut reader = Reader {
        left: seen,
        seen,
        about: look.about.unwrap_or_default(),
        used: SpokenGuesses::default(),
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
    /// How many of those seen are not yet given to a stage.
    left: u32,
    about: SpokenGuesses,
    used: SpokenGuesses,
    faults: Vec<BookFault>,
}

impl Reader {
    fn read(&mut self, look: &Look, how: LookMethod) -> Tally {
        let (mut callus, mut root, mut bottom) = (None, None, None);
        if how.examines("bottom") {
            self.used.bottom = self.about.bottom.filter(|_| look.bottom.is_none());
            bottom = Some(self.take("bottom", look.bottom, self.used.bottom));
        }
        if how.examines("rooted") {
            self.used.rooted = self.about.rooted.filter(|_| look.rooted.is_none());
            let rooted = self.take("rooted", look.rooted, self.used.rooted);
            root = Some(rooted + bottom.unwrap_or(0));
        }
        if how.examines("callused") {
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
            about: (self.used != SpokenGuesses::default()).then_some(self.used),
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
        (_, Some(root), _) => bench::set_at_least(stages, Milestone::Root, scaled(root)),
        (_, _, Some(bottom)) => bench::set_at_least(stages, Milestone::Bottom, scaled(bottom)),
        _ => {}
    }
}

/// One milestone's running account.
#[derive(Clone, Copy, Debug, Default)]
struct Account {
    /// Ever reached.
    ever: u32,
    /// How many of these were potted.
    potted: u32,
    /// How many of these were discarded alive.
    gone: u32,
    /// How many of these were lost.
    lost: u32,
    /// Lost since the last whole look that examined it, reached or not.
    lost_since: u32,
    /// The excess already reported.
    reported: u32,
}

/// The accounts of callus, root and bottom.
#[derive(Clone, Debug, Default)]
pub(super) struct Watch([Account; 3]);

impl Watch {
    /// Cuttings lost, or cleared away as failed.
    pub(super) fn lost(&mut self, count: u32) {
        for account in &mut self.0 {
            account.lost_since += count;
        }
    }

    /// Cuttings discarded alive.
    pub(super) fn gone(&mut self, taken: &Stages) {
        for (account, milestone) in self.0.iter_mut().zip(Milestone::ALL) {
            account.gone += bench::at_least(taken, milestone);
            account.ever = account.ever.max(account.left_alive());
        }
    }

    /// Cuttings potted: they count as callused and rooted, at the bottom only if tallied so.
    pub(super) fn potted(&mut self, taken: &Stages) {
        for (account, milestone) in self.0.iter_mut().zip(Milestone::ALL) {
            account.potted += match milestone.implied_by_potting() {
                true => bench::total(taken),
                false => bench::at_least(taken, milestone),
            };
            account.ever = account.ever.max(account.left_alive());
        }
    }

    /// A part left: which cuttings went is not known, so the next look starts afresh.
    pub(super) fn split(&mut self) {
        self.0 = Default::default();
    }

    /// Takes in an exact look at all that remain; gives the milestones of which it counts too few.
    pub(super) fn whole_look(&mut self, tally: &Tally) -> Vec<Fall> {
        let mut falls = Vec::new();
        for (account, milestone) in self.0.iter_mut().zip(Milestone::ALL) {
            let Some(seen) = milestone.counted(tally) else {
                continue;
            };
            if let Some(expected) = account.examine(seen) {
                falls.push(Fall {
                    milestone,
                    expected,
                    seen,
                });
            }
        }
        falls
    }
}

impl Account {
    fn left_alive(&self) -> u32 {
        self.potted + self.gone + self.lost
    }

    /// Takes in the number alive at or past the milestone; gives how many there should be if too few are.
    fn examine(&mut self, alive: u32) -> Option<u32> {
        let missing = self.ever.saturating_sub(alive + self.left_alive());
        self.lost += missing.min(self.lost_since);
        self.lost_since = 0;
        let excess = self.ever.saturating_sub(alive + self.left_alive());
        self.ever = self.ever.max(alive + self.left_alive());
        let new = excess > self.reported;
        self.reported = excess;
        new.then_some(alive + excess)
    }
}
