//! Timelines: for each group of batches how many reach each milestone, and when, with how sure that
//! is. It words nothing and asks no clock.

mod band;
mod cloud;
mod figure;
mod group;
pub mod say;

use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::intervals::{Account, WeightedInterval};
use crate::fold::selection::{ExcludedBatch, Selection, select};
use crate::model::filter::GroupKey;
use crate::stats::npmle::Mass;
use chrono::NaiveDate;
use say::{Caution, Reason};

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The batches meant.
    pub about: Selection,
    /// By what they are grouped beside their taxon.
    pub by: Vec<GroupKey>,
    /// Confidence level, e.g. 0.95.
    pub level: f64,
    /// How many resamples give the ranges of days, 999 by custom; 0 leaves them out.
    pub resamples: usize,
    /// Seed of the resampling.
    pub seed: u64,
    /// Whether each curve's pointwise band is wanted.
    pub band: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            about: Selection::default(),
            by: Vec::new(),
            level: 0.95,
            resamples: 999,
            seed: 1,
            band: false,
        }
    }
}

/// The answer, with the settings that it was made with.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// The day after which nothing was seen, if one was asked for.
    pub as_of: Option<NaiveDate>,
    /// Confidence level.
    pub level: f64,
    /// Seed of the resampling.
    pub seed: u64,
    /// How many resamples.
    pub resamples: usize,
    /// The groups, by taxon, then by their keys in the order asked for.
    pub groups: Vec<Group>,
    /// Batches meant but left out, by day of sticking and key.
    pub skipped: Vec<ExcludedBatch>,
}

/// A group's figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The taxon as it is shown.
    pub taxon: String,
    /// The other keys with their values; nothing where it was not recorded.
    pub by: Vec<(GroupKey, Option<String>)>,
    /// How many of what.
    pub size: Size,
    /// The share that rooted: the root milestone's.
    pub strike: Option<Reached>,
    /// Rooted of those stuck, in closed batches.
    pub yielded: Option<Yield>,
    /// By milestone: callus, root, bottom.
    pub milestones: [MilestoneFigure; 3],
    /// Why what is null is null, by path: `milestones.root.days.all.p90`.
    pub reasons: Vec<(String, Reason)>,
    /// What to bear in mind.
    pub cautions: Vec<Caution>,
}

impl Group {
    /// The figures of one milestone.
    #[must_use]
    pub fn of(&self, milestone: Milestone) -> &MilestoneFigure {
        &self.milestones[milestone as usize]
    }
}

/// How many make up a group.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Size {
    /// Batches.
    pub batches: usize,
    /// Replicates: batches that do not share a fate.
    pub replicates: usize,
    /// Cuttings stuck.
    pub stuck: u32,
    /// Cuttings lost on the bench, for any cause.
    pub lost: u32,
    /// Cuttings on the bench that were not rooted when last examined.
    pub watched: f64,
}

/// Rooted of those stuck, uncensored, since it is of closed batches only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Yield {
    /// The share, 0 to 1.
    pub value: f64,
    /// Of so many closed batches.
    pub batches: usize,
}

/// A share reached, with its confidence interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reached {
    /// The share, 0 to 1.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// By this day since sticking, the last known of.
    pub by_day: u32,
    /// Variance between replicates over the binomial one, at least 1; absent with one replicate.
    pub deff: Option<f64>,
}

/// A milestone's figures.
#[derive(Clone, Debug, PartialEq)]
pub struct MilestoneFigure {
    /// Masses of reached, in order of time. With `lost` and `later` they sum to 1.
    pub curve: Vec<Mass>,
    /// How sure the curve is on each of its days, in order of time; empty unless asked for.
    pub band: Vec<BandPoint>,
    /// Masses of lost first, in order of time.
    pub lost: Vec<Mass>,
    /// Mass watched, neither yet.
    pub later: f64,
    /// No curve has a log-likelihood higher by more than this.
    pub gap: f64,
    /// The log-likelihood of the curve.
    pub loglik: f64,
    /// The share reached.
    pub reached: Option<Reached>,
    /// Days of all stuck.
    pub all: Quantiles,
    /// Days of those that reached it.
    pub of_reached: Quantiles,
}

/// A day of a curve's pointwise band; between two of them it runs straight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandPoint {
    /// Days since sticking.
    pub day: u32,
    /// Lower end of the share reached by then, 0 to 1.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Days by which 10, 50 and 90 % got there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantiles {
    /// In this order.
    pub days: [Option<Days>; 3],
}

impl Quantiles {
    /// Each with its name.
    pub fn named(&self) -> impl Iterator<Item = (&'static str, Option<&Days>)> {
        let days = self.days.iter().map(Option::as_ref);
        figure::QUANTILES.iter().map(|(name, _)| *name).zip(days)
    }
}

/// A day since sticking, known to lie in (`after`, `by`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Days {
    /// Not on this day yet.
    pub after: u32,
    /// By this day.
    pub by: u32,
    /// By a straight line between them.
    pub at: f64,
    /// Lower end of its confidence interval, if there is one.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// A batch in a group.
struct Member<'a> {
    account: &'a Account,
    /// Numbered within the group.
    replicate: usize,
}

impl<'a> Member<'a> {
    /// Its pieces for a milestone.
    fn pieces(&self, milestone: Milestone) -> &'a [WeightedInterval] {
        &self.account.of(milestone).pieces
    }
}

/// The timelines asked for. `go_on` is told how much is done, of how much, and says whether to go
/// on; `None` if it said no.
///
/// The same book gives the same answer to the bit, in whatever order it was read.
pub fn timeline(
    book: &Book,
    options: &Options,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Timeline> {
    let (counted, skipped) = select(book, &options.about);
    let gathered = group::gather(book, &counted, &options.by);
    let steps = gathered.len() * Milestone::ALL.len();
    let mut done = 0;
    let mut groups = Vec::with_capacity(gathered.len());
    for gathered in &gathered {
        groups.push(group::figures(gathered, options, &mut |finished| {
            done += usize::from(finished);
            go_on(done, steps)
        })?);
    }
    Some(Timeline {
        as_of: options.about.as_of,
        level: options.level,
        seed: options.seed,
        resamples: options.resamples,
        groups,
        skipped,
    })
}
