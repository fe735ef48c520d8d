//! The share of a group that reached a milestone, in the end and by each day, and how sure it is. It estimates
//! no curve.

use super::sample::Sample;
use super::sample::TimelineOptions;
use crate::stats::correlation::{CorrelatedShare, SharePrior, clustered_share};
use crate::stats::npmle::Estimate;
use crate::stats::npmle::reached_by;
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
    /// The days on which the spread between units is known: those of the band if it is wanted, then τ.
    days: Vec<f64>,
    /// The share reached by each of these with each unit left out in turn; empty where nothing asks for it.
    left_out: Vec<Vec<f64>>,
}

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
        let mut days = if options.band {
            bends(estimate)
        } else {
            Vec::new()
        };
        days.push(estimate.tau);
        let left_out = if sample.units() < 2 || estimate.curve.is_empty() || !wanted {
            Vec::new()
        } else {
            sample.rows.left_out(estimate, &days, go_on)?
        };
        Some(Self {
            sample,
            estimate,
            prior,
            level: options.level,
            days,
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
        bends(self.estimate).into_iter().map(point).collect()
    }

    fn range(&self, value: f64, variance: f64) -> CorrelatedShare {
        let sizes = &self.sample.counted;
        let batch_size = self.sample.batch_size;
        clustered_share(value, sizes, batch_size, variance, self.prior, self.level)
    }

    /// The variance between units of the share reached by a day, by the jackknife.
    fn variance_on(&self, day: f64) -> f64 {
        let at = self.days.iter().position(|known| *known == day);
        let shares = at.and_then(|at| self.left_out.get(at));
        shares.map_or(0.0, |shares| jackknife_variance(shares))
    }
}

/// The days on which a curve bends, with its first and its last.
fn bends(estimate: &Estimate) -> Vec<f64> {
    let ends = estimate.curve.iter().flat_map(|mass| [mass.after, mass.by]);
    let mut days: Vec<f64> = ends.chain([0.0, estimate.tau]).collect();
    days.sort_by(f64::total_cmp);
    days.dedup();
    days
}
