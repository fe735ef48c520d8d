//! What the screens of a comparison show, worked out off the input path. It draws nothing.

use crate::analysis::trials::{Arm, Comparison, Options, Pair, Trials, compare};
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::batch::{Batch, BatchCounts};
use crate::fold::selection::Selection as About;
use crate::model::filter::{Filter, GroupKey};
use crate::model::id::Id;
use crate::text::strip::tally;
use crate::tui::question::GoOn;
use chrono::Days;

/// A comparison for one milestone, with what its arms looked like at the horizon.
#[derive(Clone, Debug)]
pub struct Figures {
    /// The comparison.
    pub trials: Trials,
    /// Cuttings of each arm by what had become of them by the horizon, in the order of the strip.
    pub strips: Vec<[u32; 7]>,
}

impl Figures {
    /// The one comparison that was asked for.
    #[must_use]
    pub fn comparison(&self) -> Option<&Comparison> {
        self.trials.comparisons.first()
    }

    /// The pair of these two arms, in either order.
    #[must_use]
    pub fn pair(&self, one: usize, other: usize) -> Option<&Pair> {
        let wanted = [one.min(other), one.max(other)];
        let mut pairs = self.comparison()?.pairs.iter();
        pairs.find(|pair| pair.arms == wanted)
    }

    /// The arms that this one meets, those with most replicates first: they tell most.
    #[must_use]
    pub fn rivals(&self, arm: usize) -> Vec<usize> {
        let pairs = self.comparison().into_iter().flat_map(|it| &it.pairs);
        let other = |pair: &Pair| match pair.arms {
            [first, second] if first == arm => Some(second),
            [first, second] if second == arm => Some(first),
            _ => None,
        };
        let mut out: Vec<usize> = pairs.filter_map(other).collect();
        let arms = self.comparison().map_or(&[][..], |it| &it.arms);
        out.sort_by_key(|&at| std::cmp::Reverse(arms.get(at).map(|arm| arm.replicates)));
        out
    }
}

/// Works it out; nothing if nobody waits any more.
#[must_use]
pub fn figures(
    book: &Book,
    (by, filter): (GroupKey, &Filter),
    milestone: Milestone,
    go_on: GoOn<'_>,
) -> Option<Figures> {
    let options = Options {
        about: About {
            filter: filter.clone(),
            ..About::default()
        },
        by: vec![by],
        milestones: vec![milestone],
        ..Options::default()
    };
    let trials = compare(book, &options, &mut |_, _| go_on())?;
    let comparison = trials.comparisons.first()?;
    let horizon = comparison.horizon;
    let strips = comparison.arms.iter();
    let strips = strips.map(|arm| of_arm(book, arm, horizon)).collect();
    Some(Figures { trials, strips })
}

fn of_arm(book: &Book, arm: &Arm, horizon: Option<u32>) -> [u32; 7] {
    let mut out = [0u32; 7];
    for batch in arm.batches.iter().filter_map(|key: &Id| book.batch(key)) {
        for (sum, n) in out.iter_mut().zip(tally(&at_horizon(batch, horizon))) {
            *sum = sum.saturating_add(n);
        }
    }
    out
}

/// A batch's counts at the end of its day of that number since sticking.
#[must_use]
pub fn at_horizon(batch: &Batch, horizon: Option<u32>) -> BatchCounts {
    let ahead = horizon.map(|day| Days::new(u64::from(day)));
    let day = ahead.and_then(|ahead| batch.stuck_on.checked_add_days(ahead));
    day.and_then(|day| batch.counts_on(day))
        .unwrap_or(batch.counts)
}
