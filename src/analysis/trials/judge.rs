//! The verdict by the written rule, and how many batches would settle it. It words nothing.

use super::{Difference, Test};

/// What the figures support.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// The arms differ: p is small and the interval excludes 0.
    Difference,
    /// They differ by no more than this either way, which is not worth having: a share or days.
    NoLargerThan(f64),
    /// Neither can be said.
    Undecided,
}

impl Kind {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Difference => "difference",
            Self::NoLargerThan(_) => "no-larger-than",
            Self::Undecided => "undecided",
        }
    }
}

/// A verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    /// What it is.
    pub kind: Kind,
    /// The smallest p that these numbers of replicates could give.
    pub smallest_p: Option<f64>,
    /// Batches an arm that would find a difference of the size seen, 80 times of 100; none if there
    /// is no difference to find, the spread between batches is unknown, or it takes over 999.
    pub batches_needed: Option<u32>,
    /// Cuttings in each of them: the mean of those seen.
    pub cuttings: u32,
}

/// Slack of comparisons with the level.
const SLACK: f64 = 1e-9;

/// The first that holds: undecided if no p could be small enough; a difference if p is and the
/// interval excludes 0; no larger than the interval's far end if that is not worth having; else
/// undecided.
pub(super) fn kind(
    test: Option<&Test>,
    difference: Option<&Difference>,
    worth: f64,
    level: f64,
) -> Kind {
    let alpha = 1.0 - level + SLACK;
    let (Some(test), Some(difference)) = (test, difference) else {
        return Kind::Undecided;
    };
    if test.permuted.smallest_p > alpha {
        return Kind::Undecided;
    }
    let ends = difference.interval;
    if test.holm <= alpha && (ends.low > 0.0 || ends.high < 0.0) {
        return Kind::Difference;
    }
    let far = ends.low.abs().max(ends.high.abs());
    if far <= worth + SLACK {
        return Kind::NoLargerThan(far);
    }
    Kind::Undecided
}
