//! The share of a group that reached a milestone, in the end and by each day, and how sure it is. It estimates
//! no curve.

use super::sample::Sample;
use super::sample::TimelineOptions;
use crate::stats::correlation::{CorrelatedShare, SharePrior, clustered_share};
use crate::stats::npmle::reached_by;
use crate::stats::npmle::{Estimate, Mass};
use crate::stats::shares::{cluster_variance, jackknife_variance};
use serde::Serialize;

/// A share reached, with its confidence interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ReachedShare {
    /// The share, 0 to 1.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// By this day since sticking, τ: the last known of.
    pub by_day: u32,
    /// Cuttings on the bench still without it.
    pub watched: f64,
    /// How alike cuttings of one replicate are, or in a pool of several of one nursery, 0 to 1: the group's own
    /// correlation pooled with that of all groups.
    pub correlation: f64,
    /// How many times the variance of as many cuttings that share nothing.
    pub deff: f64,
}

/// A day of a curve's pointwise band; between two of them it runs straight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BandPoint {
    /// Days since sticking.
    pub day: u32,
    /// Lower end of the share reached by then, 0 to 1.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A group's curve of one milestone with what its ranges need.
pub(super) struct ShareSpread<'a> {
    sample: &'a Sample,
    estimate: &'a Estimate,
    prior: &'a SharePrior,
    level: f64,
    /// The curve with each unit left out in turn; empty where nothing asks for it.
    left_out: Vec<Vec<Mass>>,
}

/// The most groups of units that are left out in turn.
const MOST_LEFT_OUT: usize = 100;

impl<'a> ShareSpread<'a> {
    /// `None` if `go_on` says no.
    pub(super) fn new(
        sample: &'a Sample,
        estimate: &'a Estimate,
        prior: &'a SharePrior,
        options: &TimelineOptions,
        go_on: &mut dyn FnMut() -> bool,
    ) -> Option<Self> {
        let wanted = options.band || sample.is_censored(estimate.tau);
        let left_out = if sample.units() < 2 || estimate.curve.is_empty() || !wanted {
            Vec::new()
        } else {
            left_out(sample, estimate, go_on)?
        };
        Some(Self {
            sample,
            estimate,
            prior,
            level: options.level,
            left_out,
        })
    }

    /// The share reached in the end.
    pub(super) fn share(&self) -> ReachedShare {
        let value = self.estimate.reached().min(1.0);
        let variance = if self.sample.is_censored(self.estimate.tau) {
            self.variance_on(self.estimate.tau)
        } else {
            cluster_variance(&self.sample.counts())
        };
        let share = self.range(value, variance);
        ReachedShare {
            value,
            low: share.interval.low,
            high: share.interval.high,
            by_day: self.estimate.tau as u32,
            watched: self.sample.watched,
            correlation: share.correlation,
            deff: share.deff,
        }
    }

    /// The share reached by each day on which the curve bends, with its interval as the strike has it. Each day by
    /// itself: the whole curve lies in the band less often than any one of its days does.
    pub(super) fn band(&self) -> Vec<BandPoint> {
        let curve = &self.estimate.curve;
        let ends = curve.iter().flat_map(|mass| [mass.after, mass.by]);
        let mut days: Vec<f64> = ends.chain([0.0, self.estimate.tau]).collect();
        days.sort_by(f64::total_cmp);
        days.dedup();
        let point = |day: f64| {
            // Whatever was stuck had none of this on the day of sticking: that is no estimate.
            let (low, high) = if day <= 0.0 {
                (0.0, 0.0)
            } else {
                let value = reached_by(curve, day).min(1.0);
                let ends = self.range(value, self.variance_on(day)).interval;
                (ends.low, ends.high)
            };
            BandPoint {
                day: day as u32,
                low,
                high,
            }
        };
        days.into_iter().map(point).collect()
    }

    fn range(&self, value: f64, variance: f64) -> CorrelatedShare {
        let sizes = &self.sample.counted;
        let batch_size = self.sample.batch_size;
        clustered_share(value, sizes, batch_size, variance, self.prior, self.level)
    }

    /// The variance between units of the share reached by a day, by the jackknife.
    fn variance_on(&self, day: f64) -> f64 {
        let shares = self.left_out.iter().map(|curve| reached_by(curve, day));
        jackknife_variance(&shares.collect::<Vec<f64>>())
    }
}

/// The curve with each unit left out in turn; of more than [`MOST_LEFT_OUT`], a hundredth of them at a time (the
/// delete-a-group jackknife: Kott 2001, *Journal of Official Statistics* 17:521). `None` if `go_on` says no.
fn left_out(
    sample: &Sample,
    estimate: &Estimate,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Vec<Vec<Mass>>> {
    let groups = sample.units().min(MOST_LEFT_OUT);
    let mut out = Vec::with_capacity(groups);
    for group in 0..groups {
        if !go_on() {
            return None;
        }
        let kept = |unit: usize| usize::from(unit % groups != group);
        let times: Vec<usize> = (0..sample.units()).map(kept).collect();
        out.extend(
            sample
                .rows
                .estimate_near(&times, estimate)
                .map(|it| it.curve),
        );
    }
    Some(out)
}
