//! The milestones that are timed. What a cutting is at a moment is a `Stage`, not this.

use super::batch::{Stage, Tally};
use serde::Serialize;

/// A stage whose first day is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Milestone {
    /// Callused or further.
    Callus,
    /// Rooted or further.
    Root,
    /// Roots at the bottom.
    Bottom,
}

impl Milestone {
    /// All, in the order in which a cutting meets them.
    pub const ALL: [Self; 3] = [Self::Callus, Self::Root, Self::Bottom];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Callus => "callus",
            Self::Root => "root",
            Self::Bottom => "bottom",
        }
    }

    /// The milestone of that word.
    #[must_use]
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.word() == word)
    }

    /// The lowest stage that has it behind it.
    #[must_use]
    pub fn stage(self) -> Stage {
        match self {
            Self::Callus => Stage::Callused,
            Self::Root => Stage::Rooted,
            Self::Bottom => Stage::Bottom,
        }
    }

    /// How many of those seen were at or past it; nothing if the tally did not examine it.
    #[must_use]
    pub fn counted(self, tally: &Tally) -> Option<u32> {
        match self {
            Self::Callus => tally.callus,
            Self::Root => tally.root,
            Self::Bottom => tally.bottom,
        }
    }

    /// Whether cuttings potted up count as having it: they are callused and rooted, but may
    /// not have filled the cell.
    #[must_use]
    pub fn implied_by_potting(self) -> bool {
        self != Self::Bottom
    }
}
