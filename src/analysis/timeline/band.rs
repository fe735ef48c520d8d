//! How sure a curve is on each of its days: its pointwise band. It estimates no curve.

use super::BandPoint;
use super::figure::{Work, variance_on};
use crate::fold::batch::Milestone;
use crate::stats::days::reached_by;
use crate::stats::npmle::{Estimate, Mass};
use crate::stats::shares::share_with_variance;

/// The share reached by each day on which the curve bends, with its interval as the strike has it:
/// Wilson's, n divided by the design effect, whose variance between replicates is the jackknife of
/// the curve on that day; Wilson's alone with one replicate. Each day by itself: the whole curve lies
/// in the band less often than any one of its days does. Empty unless asked for.
pub(super) fn band(
    milestone: Milestone,
    estimate: &Estimate,
    left_out: &[Vec<Mass>],
    work: &Work,
) -> Vec<BandPoint> {
    if !work.options.band {
        return Vec::new();
    }
    let ends = estimate.curve.iter().flat_map(|mass| [mass.after, mass.by]);
    let mut days: Vec<f64> = ends.chain([0.0, estimate.tau]).collect();
    days.sort_by(f64::total_cmp);
    days.dedup();
    let (n, replicates, level) = (work.counted(milestone), work.replicates, work.options.level);
    let point = |day: f64| {
        if day <= 0.0 {
            // Whatever was stuck had none of this on the day of sticking: that is no estimate.
            return BandPoint {
                day: 0,
                low: 0.0,
                high: 0.0,
            };
        }
        let value = reached_by(&estimate.curve, day).min(1.0);
        let variance = variance_on(day, left_out);
        let share = share_with_variance(value, n, replicates, variance, level);
        BandPoint {
            day: day as u32,
            low: share.interval.low,
            high: share.interval.high,
        }
    };
    days.into_iter().map(point).collect()
}
