//! Timelines: for each group of batches how many reach each milestone, and when, with how sure that
//! is. It words nothing and asks no clock.

mod days;
mod figure;
mod group;
mod sample;
mod share;

pub use days::{DayQuantiles, QuantileDay};
pub use figure::{Figure, Missing};
pub use group::is_fallen;
pub(in crate::analysis) use group::{Gathered, by_key};
pub use group::{MilestoneFigures, TimelineCaution, TimelineGroup};
pub use sample::TimelineOptions;
pub(in crate::analysis) use sample::{GroupMember, GroupUnit, MemberMilestone};
pub use share::{BandPoint, ReachedShare};

use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::intervals::{Account, IntervalStatus, WeightedInterval};
use crate::fold::selection::{ExcludedBatch, IncludedBatch, Selection, select, select_wanted};
use crate::model::filter::GroupKey;
use crate::stats::correlation::{CorrelationPrior, SharePrior};
use crate::stats::shares::Count;
use crate::stats::workers;
use crate::stats::workers::share_out;
use chrono::NaiveDate;
use serde::Serialize;

/// The answer, with the settings that it was made with.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Timeline {
    /// The day after which nothing was seen, if one was asked for.
    pub as_of: Option<NaiveDate>,
    /// Confidence level.
    pub level: f64,
    /// Seed of the resampling.
    pub seed: u64,
    /// How many resamples.
    pub resamples: usize,
    /// How alike cuttings of one batch are over all groups of the journal, by milestone: callus, root, bottom.
    pub correlations: [CorrelationPrior; 3],
    /// The groups, by taxon, then by their keys in the order asked for.
    pub groups: Vec<TimelineGroup>,
    /// Batches meant but left out, by day of sticking and key.
    pub skipped: Vec<ExcludedBatch>,
}

/// The timelines asked for. `go_on` receives how many steps are done and how many there are, and
/// returns whether to go on; the answer is `None` if it returns false.
///
/// The same book gives the same answer to the bit, in whatever order it was read.
pub fn timeline(
    book: &Book,
    options: &TimelineOptions,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Timeline> {
    let (counted, skipped) = select(book, &options.about);
    let whole = Selection {
        as_of: options.about.as_of,
        ..Selection::default()
    };
    let correlations = if options.about == whole {
        let closed = counted.iter().map(|item| IncludedBatch {
            batch: item.batch,
            account: closed_counts(&item.account),
            replicate: item.replicate,
        });
        correlations(book, &closed.collect::<Vec<_>>())
    } else {
        journal_correlations(book, options.about.as_of)
    };
    let gathered = group::gather(book, &counted, &options.by, options.about.as_of);
    let priors = correlations.map(SharePrior::of_replicates);
    let groups = group_figures(&gathered, &priors, options, go_on)?;
    Some(Timeline {
        as_of: options.about.as_of,
        level: options.level,
        seed: options.seed,
        resamples: options.resamples,
        correlations,
        groups,
        skipped,
    })
}

/// The figures of groups, `priors` being how alike cuttings are in all groups, by milestone. `None` if `go_on` says no.
pub(in crate::analysis) fn group_figures(
    gathered: &[Gathered],
    priors: &[SharePrior; 3],
    options: &TimelineOptions,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Vec<TimelineGroup>> {
    let steps = gathered.len() * Milestone::ALL.len();
    let found = share_out(steps, &mut |done| go_on(done, steps), |at, go_on| {
        let milestone = Milestone::ALL[at % Milestone::ALL.len()];
        let prior = &priors[milestone as usize];
        let group = &gathered[at / Milestone::ALL.len()];
        group::milestone_figures(group, milestone, prior, options, go_on)
    })?;
    let mut found = found.into_iter();
    let mut groups = Vec::with_capacity(gathered.len());
    for gathered in gathered {
        let milestones = [found.next()?, found.next()?, found.next()?];
        groups.push(group::figures(gathered, milestones));
    }
    Some(groups)
}

/// How alike cuttings of one batch are in the journal as it stood at the end of a day, by milestone.
#[must_use]
pub fn journal_correlations(book: &Book, as_of: Option<NaiveDate>) -> [CorrelationPrior; 3] {
    let whole = Selection {
        as_of,
        ..Selection::default()
    };
    let batches = book.batches().iter().map(AsRef::as_ref);
    let (counted, _) = select_wanted(book, batches, &whole, |account| closed_counts(&account));
    correlations(book, &counted)
}

/// What a closed batch reached of each milestone that was examined, of how many; nothing of an open one.
type ClosedCounts = [Option<Count>; 3];

fn closed_counts(account: &Account) -> ClosedCounts {
    Milestone::ALL.map(|milestone| {
        let own = account.milestone(milestone);
        (account.is_closed() && own.examined).then(|| followed(&own.pieces))
    })
}

/// What the whole journal says of how alike cuttings of one batch are, by milestone: from its closed batches, in groups
/// of one taxon at one wood stage, cuttings that were taken away before left out. It is the same whatever batches
/// are asked about, so that a group has one range wherever it is shown.
fn correlations(book: &Book, counted: &[IncludedBatch<ClosedCounts>]) -> [CorrelationPrior; 3] {
    let groups = group::grouped(book, counted, &[GroupKey::Wood]);
    let numbered = workers::map(groups.len(), |at| group::replicate_numbers(&groups[at]));
    Milestone::ALL.map(|milestone| {
        let counts = groups
            .iter()
            .zip(&numbered)
            .map(|(group, (units, numbers))| {
                let each = group.iter().map(|item| item.account[milestone as usize]);
                unit_counts(*units, numbers.iter().copied().zip(each))
            });
        CorrelationPrior::of_groups(&counts.collect::<Vec<_>>())
    })
}

/// How alike cuttings of one replicate are in groups of batches, by milestone.
pub(in crate::analysis) fn group_correlations(groups: &[Gathered]) -> [CorrelationPrior; 3] {
    Milestone::ALL.map(|milestone| {
        let counts = groups.iter().map(|group| {
            let each = group.members.iter().map(|member| {
                let own = member.milestone(milestone);
                let tells = member.closed > 0 && own.examined;
                (member.unit, tells.then(|| followed(own.pieces)))
            });
            unit_counts(group.units, each)
        });
        CorrelationPrior::of_groups(&counts.collect::<Vec<_>>())
    })
}

/// The counts of so many units, from those of their members.
fn unit_counts(units: usize, members: impl Iterator<Item = (usize, Option<Count>)>) -> Vec<Count> {
    let mut counts = vec![Count { x: 0.0, n: 0.0 }; units];
    for (unit, count) in members.filter_map(|(unit, count)| Some((unit, count?))) {
        counts[unit].x += count.x;
        counts[unit].n += count.n;
    }
    counts
}

/// How many of a batch's cuttings reached a milestone, of how many that were followed to their end.
pub(in crate::analysis) fn followed(pieces: &[WeightedInterval]) -> Count {
    let mut count = Count { x: 0.0, n: 0.0 };
    for piece in pieces {
        let [x, n] = match piece.status {
            IntervalStatus::Reached => [1.0, 1.0],
            IntervalStatus::Lost => [0.0, 1.0],
            IntervalStatus::NotYet => [0.0, 0.0],
        };
        count.x += x * piece.weight;
        count.n += n * piece.weight;
    }
    count
}
