//! Trials: two or more ways of doing it side by side, like with like, and what the journal supports
//! about the difference. It words no verdict and asks no clock.

mod confound;
pub mod design;
mod gather;
mod judge;
mod pair;
mod seen;
mod side;
mod splits;
mod unit;

use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::selection::ExclusionReason;
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::stats::permute::Permuted;
use crate::stats::shares::Interval;
use crate::stats::tables::ChiSquare;
use chrono::NaiveDate;

pub use confound::Caution;
pub use judge::{Kind, Verdict};
pub use side::{Arm, ArmDays, Point, Share};
pub use splits::{Split, splits};

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The batches meant.
    pub about: Selection,
    /// By what the arms differ; the trial's `arm` if empty.
    pub by: Vec<GroupKey>,
    /// Within what like is compared with like, beside the taxon.
    pub within: Vec<GroupKey>,
    /// For these milestones, in this order.
    pub milestones: Vec<Milestone>,
    /// A difference of strike worth having, as a share: 0.15.
    pub worth_strike: f64,
    /// A difference of days worth having.
    pub worth_days: f64,
    /// Confidence level, 0.95; a verdict of a difference takes p up to 1 − level.
    pub level: f64,
    /// Arrangements drawn when there are too many to look at all: 9 999.
    pub draws: usize,
    /// The same for days, and resamples for the arms' ranges of days: 999.
    pub draws_days: usize,
    /// Seed of both.
    pub seed: u64,
    /// Seasons are compared whole, not to the same day of the year.
    pub whole_seasons: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            about: Selection::default(),
            by: Vec::new(),
            within: Vec::new(),
            milestones: vec![Milestone::Root, Milestone::Callus, Milestone::Bottom],
            worth_strike: 0.15,
            worth_days: 7.0,
            level: 0.95,
            draws: crate::stats::permute::DRAWS,
            draws_days: 999,
            seed: 1,
            whole_seasons: false,
        }
    }
}

impl Options {
    /// The keys that tell the arms apart.
    #[must_use]
    pub fn split(&self) -> Vec<GroupKey> {
        match self.by.as_slice() {
            [] => vec![GroupKey::Arm],
            by => by.to_vec(),
        }
    }

    /// The keys of a stratum: the taxon unless the arms are taxa, then `within`.
    #[must_use]
    pub fn strata(&self) -> Vec<GroupKey> {
        let split = self.split();
        let mut keys = vec![GroupKey::Taxon];
        keys.extend(&self.within);
        keys.retain(|key| !split.contains(key));
        let mut seen = Vec::new();
        for key in keys {
            if !seen.contains(&key) {
                seen.push(key);
            }
        }
        seen
    }
}

/// The answer, with the settings that it was made with.
#[derive(Clone, Debug, PartialEq)]
pub struct Trials {
    /// By what the arms differ.
    pub by: Vec<GroupKey>,
    /// Within what like was compared with like.
    pub within: Vec<GroupKey>,
    /// The settings.
    pub options: Options,
    /// With seasons for arms: the day to which the last one was seen; the others were seen to the
    /// same day of their year.
    pub same_day: Option<NaiveDate>,
    /// One for each milestone asked for, in that order.
    pub comparisons: Vec<Comparison>,
}

/// The comparison for one milestone.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// The milestone.
    pub milestone: Milestone,
    /// H, the day since sticking to which all arms are compared: the smallest of their last days.
    pub horizon: Option<u32>,
    /// Where two arms or more meet.
    pub strata: Vec<Stratum>,
    /// The arms, by name (wood by ripeness).
    pub arms: Vec<Arm>,
    /// Every two arms that meet in a stratum.
    pub pairs: Vec<Pair>,
    /// All arms at once, when there are more than two.
    pub overall: Option<Overall>,
    /// Batches meant but left out, by day of sticking and key.
    pub left_out: Vec<Left>,
    /// What to bear in mind.
    pub cautions: Vec<Caution>,
}

/// Where like is compared with like.
#[derive(Clone, Debug, PartialEq)]
pub struct Stratum {
    /// Its keys with their values; nothing where not recorded.
    pub by: Vec<(GroupKey, Option<String>)>,
    /// Replicates of each arm, in the order of the arms.
    pub replicates: Vec<usize>,
}

/// A batch left out.
#[derive(Clone, Debug, PartialEq)]
pub struct Left {
    /// Its code.
    pub batch: String,
    /// Its identity.
    pub key: Id,
    /// Why.
    pub reason: LeftOut,
}

/// Why a batch is left out of a comparison.
#[derive(Clone, Debug, PartialEq)]
pub enum LeftOut {
    /// It is left out of all figures.
    OfFigures(ExclusionReason),
    /// What tells the arms apart was not recorded; that is no arm.
    NotRecorded(GroupKey),
    /// The milestone was never examined.
    NotExamined,
    /// Its stratum has only this arm, so there is nothing to compare it with.
    Alone {
        /// The arm.
        arm: String,
        /// The stratum in words; empty if there is but one.
        stratum: String,
    },
    /// Its cuttings on the bench were not followed to the horizon.
    NotFollowed {
        /// The horizon, a day since sticking.
        to: u32,
    },
}

/// Two arms, first less second.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Which arms, as positions in the comparison's.
    pub arms: [usize; 2],
    /// In how many strata they meet.
    pub strata: usize,
    /// Replicates of each where they meet.
    pub replicates: [usize; 2],
    /// Shares that reached the milestone by the horizon.
    pub strike: Strike,
    /// Days to the horizon.
    pub days: DaysApart,
}

/// A difference with its interval. An end is infinite where these numbers exclude nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// First arm less second.
    pub value: f64,
    /// Its interval by inverting the permutation test.
    pub interval: Interval,
}

/// A permutation test of whole replicates within strata.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Test {
    /// As computed.
    pub permuted: Permuted,
    /// p by Holm's correction over all pairs; the same as p for one pair.
    pub holm: f64,
}

/// Two arms' shares.
#[derive(Clone, Debug, PartialEq)]
pub struct Strike {
    /// Mantel–Haenszel difference of shares.
    pub difference: Option<Difference>,
    /// Its test.
    pub test: Option<Test>,
    /// What other tests say.
    pub second: SecondOpinions,
    /// Whether the strata agree: Cochran's Q with the design effect; none in one stratum.
    pub homogeneity: Option<ChiSquare>,
    /// What follows.
    pub verdict: Verdict,
}

/// Tests that take each cutting by itself, and how far that misleads.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SecondOpinions {
    /// Fisher's exact test, strata added together.
    pub fisher_p: Option<f64>,
    /// Cochran–Mantel–Haenszel without correction.
    pub cmh: Option<ChiSquare>,
    /// With continuity correction.
    pub cmh_corrected: Option<ChiSquare>,
    /// Mantel–Haenszel odds ratio, first arm over second.
    pub odds_ratio: Option<f64>,
    /// Greenland and Robins's standard error of the difference, by the cutting.
    pub standard_error: Option<f64>,
    /// Correlation within a batch: beta-binomial, one for all, each arm of each stratum with its own
    /// share. None where no arm is replicated.
    pub icc: Option<f64>,
    /// Design effect at that correlation.
    pub design_effect: Option<f64>,
    /// Counts were fractional and were rounded for Fisher's, the CMH tests and the odds ratio.
    pub rounded: bool,
}

/// Two arms' days.
#[derive(Clone, Debug, PartialEq)]
pub struct DaysApart {
    /// Difference of the area under 1 − F to the horizon, all stuck counted.
    pub difference: Option<Difference>,
    /// The same among those that reached the milestone by then.
    pub of_reached: Option<f64>,
    /// The test of the difference over all stuck.
    pub test: Option<Test>,
    /// Sun's scores, permutation form, by the cutting: z above 0 if the first arm is sooner, and p.
    pub score: Option<(f64, f64)>,
    /// What follows.
    pub verdict: Verdict,
}

/// All arms at once: permutation of the weighted between-arm sum of squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overall {
    /// Of shares.
    pub strike: Option<Permuted>,
    /// Of days.
    pub days: Option<Permuted>,
}

/// The comparisons asked for. `go_on` is told how much is done, of how much, and says whether to go
/// on; `None` if it said no.
///
/// The same book gives the same answer to the bit, in whatever order it was read.
///
/// One horizon H holds for all arms: the smallest of their last days known of. Of each batch n counts
/// its cuttings less those last seen waiting before H (taken off the bench for other reasons than
/// loss), x those that reached the milestone by H. A batch with cuttings still on the bench that were
/// not followed to H is left out. Days are the area under 1 − F to H, F a straight line inside each
/// interval; each replicate has its own F, so that replicates can be permuted whole and the interval
/// found by inverting the test, which is done whatever the number of replicates: above ten an arm the
/// Greenland–Robins error times the design effect would do as well, but covers less surely when
/// cuttings share a fate.
pub fn compare(
    book: &Book,
    options: &Options,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Trials> {
    let seen = seen::seen(book, options);
    let table = gather::Table::new(book, &seen, options);
    let whole = options.milestones.len();
    let mut comparisons = Vec::with_capacity(whole);
    for (done, &milestone) in options.milestones.iter().enumerate() {
        let mut step = || go_on(done, whole);
        comparisons.push(table.comparison(milestone, &mut step)?);
    }
    Some(Trials {
        by: options.split(),
        within: options.strata(),
        options: options.clone(),
        same_day: seen.same_day,
        comparisons,
    })
}
