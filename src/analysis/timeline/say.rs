//! Why a figure is missing, and what to bear in mind: as types and in words.
//! It decides nothing.

use crate::fold::batch::Milestone;
use std::fmt;

/// Why a figure is null.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reason {
    /// The milestone was never examined.
    NotExamined,
    /// Nothing was reached yet, and no batch is closed.
    TooSoon,
    /// No batch is closed.
    NoneClosed,
    /// Nothing was reached, so there are no days.
    NoneReached,
    /// So large a share was not reached.
    ShareNotReached {
        /// The share that was, 0 to 1.
        reached: f64,
        /// By this day.
        by_day: u32,
    },
    /// Too few replicates to resample.
    FewReplicates {
        /// How many there are.
        have: usize,
        /// How many it takes.
        need: usize,
    },
    /// Resampling was left out.
    NotResampled,
    /// The end lies beyond the last day known of.
    Beyond {
        /// That day.
        day: u32,
    },
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotExamined => write!(f, "never examined"),
            Self::TooSoon => write!(f, "too soon: none seen yet, and no batch is closed"),
            Self::NoneClosed => write!(f, "no batch is closed yet"),
            Self::NoneReached => write!(f, "none seen yet"),
            Self::ShareNotReached { reached, by_day } => {
                let percent = reached * 100.0;
                write!(f, "only {percent:.0} % got there by day {by_day}")
            }
            Self::FewReplicates { have, need } => {
                let noun = if *have == 1 {
                    "replicate"
                } else {
                    "replicates"
                };
                write!(f, "{have} {noun}; a range of days takes {need}")
            }
            Self::NotResampled => write!(f, "resampling was left out"),
            Self::Beyond { day } => write!(f, "beyond day {day}"),
        }
    }
}

/// What to bear in mind when reading a group's figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Caution {
    /// All cuttings share one fate: the spread between batches is unknown.
    OneReplicate,
    /// Looks were read from spoken guesses.
    Guesses {
        /// How many.
        looks: u32,
    },
    /// Looks saw only a part of the batch.
    Sampled {
        /// How many.
        looks: u32,
    },
    /// Cuttings were discarded without a reason, and count as not yet.
    Unexplained {
        /// How many.
        cuttings: u32,
    },
    /// Counts went backwards.
    Backwards {
        /// For this milestone.
        milestone: Milestone,
        /// In so many batches.
        batches: usize,
    },
    /// Seen on the day of sticking, and put in the first day.
    AtSticking {
        /// This milestone.
        milestone: Milestone,
        /// In so many batches.
        batches: usize,
    },
    /// The estimate could not be certified as the maximum.
    Uncertified {
        /// Of this milestone.
        milestone: Milestone,
        /// How far it may be from the maximum.
        gap: f64,
    },
}

/// A count with its noun.
fn many(count: usize, one: &str, several: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { several })
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = |milestone: &Milestone| milestone.word();
        let looks = |count: &u32| many(*count as usize, "look", "looks");
        let batches = |count: &usize| many(*count, "batch", "batches");
        match self {
            Self::OneReplicate => write!(f, "one replicate: the spread between batches is unknown"),
            Self::Guesses { looks: n } => write!(f, "{} read from spoken guesses", looks(n)),
            Self::Sampled { looks: n } => {
                write!(
                    f,
                    "{} at a part of the batch, taken for the whole",
                    looks(n)
                )
            }
            Self::Unexplained { cuttings: n } => write!(
                f,
                "{} discarded without a reason, counted as not yet",
                many(*n as usize, "cutting", "cuttings")
            ),
            Self::Backwards {
                milestone,
                batches: n,
            } => {
                let counts = match milestone {
                    Milestone::Callus => "fewer callused",
                    Milestone::Root => "fewer rooted",
                    Milestone::Bottom => "fewer with roots at the bottom",
                };
                write!(f, "{counts} than before in {}", batches(n))
            }
            Self::AtSticking {
                milestone,
                batches: n,
            } => write!(
                f,
                "{} seen on the day of sticking in {}, put in the first day",
                word(milestone),
                batches(n)
            ),
            Self::Uncertified { milestone, gap } => write!(
                f,
                "the curve of {} is not certified: its log-likelihood may be {gap:.1e} short",
                word(milestone)
            ),
        }
    }
}
