//! The verdict by the written rule. It words nothing.

use super::answer::{Difference, NoFigure, PermutationTest, Verdict, VerdictKind};

/// How many batches an arm a trial would take, or the reason why that is not known; and the cuttings in each batch.
pub(super) type Needed = (Result<u32, NoFigure>, u32);

/// Slack of comparisons with the level.
const SLACK: f64 = 1e-9;

/// What is asked of a verdict.
#[derive(Clone, Copy, Debug)]
pub(in crate::analysis) struct VerdictRule {
    /// A difference worth having.
    pub worth: f64,
    /// Confidence level, 0.95.
    pub level: f64,
    /// Whether the verdict may be `no-larger-than`.
    pub may_be_small: bool,
}

/// A verdict with how many batches it would take: see [`verdict_kind`].
pub(super) fn verdict(
    test: Option<&PermutationTest>,
    difference: Option<&Difference>,
    rule: VerdictRule,
    (needed, cuttings): Needed,
) -> Verdict {
    let (kind, at_most) = verdict_kind(test, difference, rule);
    Verdict {
        kind,
        text: String::new(),
        at_most,
        batches_needed: needed.ok(),
        batches_needed_missing: needed.err(),
        cuttings,
    }
}

/// The first that holds: undecided if no p could be small enough; a difference if Holm's p is and the pair's own
/// interval excludes 0; no larger than the shared interval's far end if that is not worth having; else undecided.
pub(in crate::analysis) fn verdict_kind(
    test: Option<&PermutationTest>,
    difference: Option<&Difference>,
    rule: VerdictRule,
) -> (VerdictKind, Option<f64>) {
    let alpha = 1.0 - rule.level + SLACK;
    let (Some(test), Some(difference)) = (test, difference) else {
        return (VerdictKind::Undecided, None);
    };
    if test.smallest_p > alpha {
        return (VerdictKind::Undecided, None);
    }
    let own = difference.alone;
    if test.p_holm <= alpha && (own.low > 0.0 || own.high < 0.0) {
        return (VerdictKind::Difference, None);
    }
    let far = difference
        .interval
        .low
        .abs()
        .max(difference.interval.high.abs());
    if rule.may_be_small && far <= rule.worth + SLACK {
        return (VerdictKind::NoLargerThan, Some(far));
    }
    (VerdictKind::Undecided, None)
}
