//! What a season's figures suggest for the next: each piece from a rule and the figures that it rests on.
//! It words nothing.

use super::methods::WayComparison;
use super::sums::{KindReview, TargetProgress};
use crate::analysis::timeline::{Figure, ReachedShare};
use serde::Serialize;

/// The share that must root for a plant to pay its way: at least half (Luna 2009, Agriculture Handbook 730,
/// chapter 9).
pub const ENOUGH: f64 = 0.5;

/// A trial of more batches an arm than this is not suggested (our own rule: no small nursery lays it out).
const MOST_BATCHES: u32 = 12;

/// A suggestion.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Advice {
    /// One way of a taxon roots better than another, and not by luck.
    Prefer {
        /// The two ways, the better first.
        way: Box<WayComparison>,
    },
    /// Two ways of a taxon cannot be told apart yet, but a trial of that size would.
    Try {
        /// The two ways.
        way: Box<WayComparison>,
    },
    /// So few rooted, and none is left on the bench, that it does not pay: even the upper end of the range is under
    /// half, in this season and in all so far; nor is more expected of the next batch.
    DoesNotPay {
        /// The taxon at its wood stage.
        kind: Box<KindReview>,
    },
    /// As many plants as wanted were ready, but only so many days after the day.
    Late {
        /// What was wanted.
        wanted: TargetProgress,
        /// Days.
        days: i64,
    },
    /// Fewer plants were ready than wanted. How many to stick for as many is the plan's to say: those that are on
    /// the bench or in pots yet have not failed.
    Short {
        /// What was wanted.
        wanted: TargetProgress,
    },
}

/// All that follows from the figures: what is sure first.
pub(super) fn advice(
    planned: &[TargetProgress],
    kinds: &[KindReview],
    methods: &[WayComparison],
) -> Vec<Advice> {
    let prefer = methods.iter().filter(|method| method.decided);
    let prefer = prefer.map(|method| Advice::Prefer {
        way: Box::new(method.clone()),
    });
    let poor = kinds.iter().filter(|kind| does_not_pay(kind));
    let poor = poor.map(|kind| Advice::DoesNotPay {
        kind: Box::new(kind.clone()),
    });
    let short = planned.iter().filter(|it| it.over && it.ready < it.count);
    let short = short.map(|planned| match planned.met_on {
        Some(day) => Advice::Late {
            wanted: planned.clone(),
            days: (day - planned.by).num_days(),
        },
        None => Advice::Short {
            wanted: planned.clone(),
        },
    });
    let open = methods.iter().filter(|method| {
        let needed = method
            .needed
            .is_some_and(|size| size.batches <= MOST_BATCHES);
        needed && !method.decided
    });
    let open = open.map(|method| Advice::Try {
        way: Box::new(method.clone()),
    });
    prefer.chain(short).chain(poor).chain(open).collect()
}

/// Whether a kind does not pay. While some still wait on the bench they may root yet; and one season's bad trays are no
/// verdict on a plant that did well before.
fn does_not_pay(kind: &KindReview) -> bool {
    let poor = |share: &Figure<ReachedShare>| share.value().is_some_and(|it| it.high < ENOUGH);
    let expected_poor = kind.expected.is_none_or(|it| it.value < ENOUGH);
    kind.sum.remain == 0 && poor(&kind.strike) && poor(&kind.strike_so_far) && expected_poor
}
