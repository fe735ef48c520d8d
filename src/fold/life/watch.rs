//! Whether counts go backwards between two whole looks. It judges; it changes no count.
//!
//! The accounting is that of the figures, kept for exact looks at all that remained only:
//! a share of a sample, or a guess, may fall by chance.

use super::bench::{self, Stages};
use crate::fold::batch::{Stage, Tally};
use crate::model::fault::BookFault;

/// One milestone's running account.
#[derive(Clone, Copy, Debug, Default)]
struct Account {
    /// Ever reached.
    ever: u32,
    /// Of those, potted.
    potted: u32,
    /// Of those, discarded alive.
    gone: u32,
    /// Of those, lost.
    lost: u32,
    /// Lost since the last whole look that examined it, reached or not.
    lost_since: u32,
    /// The excess already reported.
    reported: u32,
}

/// The accounts of callus, root and bottom.
#[derive(Clone, Debug, Default)]
pub(super) struct Watch([Account; 3]);

const MILESTONES: [(Stage, &str); 3] = [
    (Stage::Callused, "callus"),
    (Stage::Rooted, "root"),
    (Stage::Bottom, "bottom"),
];

impl Watch {
    /// Cuttings lost, or cleared away as failed.
    pub(super) fn lost(&mut self, count: u32) {
        for account in &mut self.0 {
            account.lost_since += count;
        }
    }

    /// Cuttings discarded alive.
    pub(super) fn gone(&mut self, taken: &Stages) {
        for (account, (stage, _)) in self.0.iter_mut().zip(MILESTONES) {
            account.gone += bench::at_least(taken, stage);
            account.ever = account.ever.max(account.left_alive());
        }
    }

    /// Cuttings potted: they count as callused and rooted, at the bottom only if tallied so.
    pub(super) fn potted(&mut self, taken: &Stages) {
        for (account, (stage, _)) in self.0.iter_mut().zip(MILESTONES) {
            account.potted += match stage {
                Stage::Bottom => bench::at_least(taken, stage),
                _ => bench::total(taken),
            };
            account.ever = account.ever.max(account.left_alive());
        }
    }

    /// A part left: which cuttings went is not known, so the next look starts afresh.
    pub(super) fn split(&mut self) {
        self.0 = Default::default();
    }

    /// An exact look at all that remain.
    pub(super) fn whole_look(&mut self, tally: &Tally) -> Vec<BookFault> {
        let found = [tally.callus, tally.root, tally.bottom];
        let mut faults = Vec::new();
        for ((account, (_, milestone)), seen) in self.0.iter_mut().zip(MILESTONES).zip(found) {
            let Some(seen) = seen else { continue };
            if let Some(expected) = account.examine(seen) {
                faults.push(BookFault::Backwards {
                    milestone,
                    expected,
                    seen,
                });
            }
        }
        faults
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
