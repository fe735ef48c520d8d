//! What a season's figures suggest for the next: each piece from a rule and the figures that it rests on.
//! It words nothing.

use super::{Kind, Method, Planned};

/// The share that must root for a plant to pay its way: at least half (Luna 2009, Agriculture Handbook 730,
/// chapter 9).
pub const ENOUGH: f64 = 0.5;

/// A trial of more batches an arm than this is not suggested (our own rule: no small nursery lays it out).
const MOST_BATCHES: u32 = 12;

/// A suggestion.
#[derive(Clone, Debug, PartialEq)]
pub enum Advice {
    /// One way of a taxon roots better than another, and not by luck.
    Prefer(Box<Method>),
    /// Two ways of a taxon cannot be told apart yet, but a trial of that size would.
    Try(Box<Method>),
    /// So few rooted, and none is left on the bench, that it does not pay: even the upper end of the interval is under [`ENOUGH`].
    Pays(Kind),
    /// As many plants as wanted were ready, but only so many days after the day.
    Late {
        /// What was wanted.
        planned: Planned,
        /// Days.
        days: i64,
    },
    /// Fewer plants were ready than wanted. How many to stick for as many is the plan's to say: those that are on
    /// the bench or in pots yet have not failed.
    Short(Planned),
}

/// All that follows from the figures: what is sure first.
pub(super) fn advice(planned: &[Planned], kinds: &[Kind], methods: &[Method]) -> Vec<Advice> {
    let prefer = methods.iter().filter(|method| method.decided);
    let prefer = prefer.map(|method| Advice::Prefer(Box::new(method.clone())));
    // While some still wait on the bench they may root yet.
    let over = kinds.iter().filter(|kind| kind.sum.remain == 0);
    let poor = over.filter(|kind| {
        let strike = kind.strike.as_ref();
        strike.is_some_and(|strike| strike.high < ENOUGH)
    });
    let poor = poor.map(|kind| Advice::Pays(kind.clone()));
    let short = planned.iter().filter(|it| it.over && it.ready < it.count);
    let short = short.map(|planned| match planned.met_on {
        Some(day) => Advice::Late {
            planned: planned.clone(),
            days: (day - planned.by).num_days(),
        },
        None => Advice::Short(planned.clone()),
    });
    let open = methods.iter().filter(|method| {
        let needed = method.needed.is_some_and(|(n, _)| n <= MOST_BATCHES);
        needed && !method.decided
    });
    let open = open.map(|method| Advice::Try(Box::new(method.clone())));
    prefer.chain(short).chain(poor).chain(open).collect()
}
