//! The figures of one group for one milestone: curve, share, days, and how sure they are. It
//! chooses no batch.

use super::band::band;
use super::cloud::Cloud;
use super::say::Reason;
use super::{Days, Member, MilestoneFigure, Options, Quantiles, Reached};
use crate::fold::batch::Milestone;
use crate::stats::bootstrap::{FEWEST_REPLICATES, Resampling, percentile_intervals};
use crate::stats::days;
use crate::stats::days::Among;
use crate::stats::npmle::{Estimate, Mass};
use crate::stats::shares;
use crate::stats::shares::Interval;

/// The quantiles given, with their names.
pub(super) const QUANTILES: [(&str, f64); 3] = [("p10", 0.1), ("p50", 0.5), ("p90", 0.9)];

/// Whose days are given, with their names.
pub(super) const AMONG: [(&str, Among); 2] = [("all", Among::All), ("reached", Among::Reached)];

/// How many numbers a resample gives: each quantile of either kind.
const NUMBERS: usize = QUANTILES.len() * AMONG.len();

/// A group being worked on.
pub(super) struct Work<'a> {
    pub(super) members: &'a [Member<'a>],
    pub(super) replicates: usize,
    pub(super) options: &'a Options,
    /// Says whether to go on.
    pub(super) go_on: &'a mut dyn FnMut() -> bool,
}

impl Work<'_> {
    /// The binomial n of a milestone: cuttings seen at the last tally, with those potted or lost.
    pub(super) fn counted(&self, milestone: Milestone) -> f64 {
        let accounts = self.members.iter().map(|member| member.account);
        accounts.map(|it| it.of(milestone).counted).sum()
    }
}

/// The reasons for what is null, by path within the milestone.
pub(super) type Reasons = Vec<(String, Reason)>;

/// The figures of a milestone, and the reasons for what is null in them. `None` if told to stop.
pub(super) fn of(milestone: Milestone, work: &mut Work) -> Option<(MilestoneFigure, Reasons)> {
    let cloud = Cloud::new(milestone, work.members, work.replicates);
    let estimate = cloud.whole()?;
    let mut reasons = Reasons::new();
    let (reached, band) = match missing(milestone, &estimate, work) {
        None => {
            let left_out = left_out(&cloud, &estimate, work)?;
            let reached = share(milestone, &cloud, &estimate, &left_out, work);
            (Some(reached), band(milestone, &estimate, &left_out, work))
        }
        Some(reason) => {
            reasons.push(("reached".into(), reason));
            (None, Vec::new())
        }
    };
    let ranges = ranges(&cloud, &estimate, work)?;
    let [all, of_reached] = std::array::from_fn(|among| Quantiles {
        days: std::array::from_fn(|q| {
            let range = ranges.map(|ranges| ranges[among * QUANTILES.len() + q]);
            day(milestone, &estimate, (among, q), range, work, &mut reasons)
        }),
    });
    let figure = MilestoneFigure {
        band,
        curve: estimate.curve,
        lost: estimate.lost,
        later: estimate.later,
        gap: estimate.gap,
        loglik: estimate.loglik,
        reached,
        all,
        of_reached,
    };
    Some((figure, reasons))
}

/// Why no share can be given, if none can.
fn missing(milestone: Milestone, estimate: &Estimate, work: &Work) -> Option<Reason> {
    let accounts = || work.members.iter().map(|member| member.account);
    if !accounts().any(|account| account.of(milestone).examined) {
        return Some(Reason::NotExamined);
    }
    let closed = accounts().any(super::Account::is_closed);
    (estimate.curve.is_empty() && !closed).then_some(Reason::TooSoon)
}

/// A whole day of the estimate; its ends are days of looks.
fn whole(day: f64) -> u32 {
    day as u32
}

/// The share reached and its interval.
fn share(
    milestone: Milestone,
    cloud: &Cloud,
    estimate: &Estimate,
    left_out: &[Vec<Mass>],
    work: &Work,
) -> Reached {
    let variance = if work.replicates < 2 || estimate.curve.is_empty() {
        0.0
    } else if cloud.is_censored(estimate.tau) {
        variance_on(estimate.tau, left_out)
    } else {
        shares::cluster_variance(&cloud.counts())
    };
    let value = estimate.reached().min(1.0);
    let (replicates, level) = (work.replicates, work.options.level);
    let counted = work.counted(milestone);
    let share = shares::share_with_variance(value, counted, replicates, variance, level);
    Reached {
        value,
        low: share.interval.low,
        high: share.interval.high,
        by_day: whole(estimate.tau),
        deff: share.deff,
    }
}

/// The variance between replicates of the share reached by a day, by the jackknife.
pub(super) fn variance_on(day: f64, left_out: &[Vec<Mass>]) -> f64 {
    let shares: Vec<f64> = left_out
        .iter()
        .map(|curve| days::reached_by(curve, day))
        .collect();
    shares::jackknife_variance(&shares)
}

/// The most groups of replicates that are left out in turn.
const MOST_LEFT_OUT: usize = 100;

/// The curve with each replicate left out in turn; of more than [`MOST_LEFT_OUT`], a hundredth of
/// them at a time (the delete-a-group jackknife: Kott 2001, Journal of Official Statistics 17:521).
/// Empty where nothing asks for it. `None` if told to stop.
fn left_out(cloud: &Cloud, estimate: &Estimate, work: &mut Work) -> Option<Vec<Vec<Mass>>> {
    let wanted = work.options.band || cloud.is_censored(estimate.tau);
    if work.replicates < 2 || estimate.curve.is_empty() || !wanted {
        return Some(Vec::new());
    }
    let groups = work.replicates.min(MOST_LEFT_OUT);
    let mut out = Vec::with_capacity(groups);
    for group in 0..groups {
        if !(work.go_on)() {
            return None;
        }
        let kept = |replicate: usize| usize::from(replicate % groups != group);
        let times: Vec<usize> = (0..work.replicates).map(kept).collect();
        let found = cloud.estimate(&times, estimate);
        out.extend(found.map(|it| it.curve));
    }
    Some(out)
}

/// The ranges of all days by resampling, if they can be had. The outer `None` if told to stop.
fn ranges(
    cloud: &Cloud,
    estimate: &Estimate,
    work: &mut Work,
) -> Option<Option<[Interval; NUMBERS]>> {
    if estimate.curve.is_empty() {
        return Some(None);
    }
    let how = Resampling {
        resamples: work.options.resamples,
        seed: work.options.seed,
        level: work.options.level,
    };
    let mut stopped = false;
    let ranges = percentile_intervals(work.replicates, &how, |times| {
        stopped = stopped || !(work.go_on)();
        let found = if stopped {
            None
        } else {
            cloud.estimate(times, estimate)
        };
        std::array::from_fn(|number| {
            let (among, q) = (number / QUANTILES.len(), number % QUANTILES.len());
            let curve = found.as_ref().map(|it| &it.curve);
            let day = curve.and_then(|c| days::quantile(c, QUANTILES[q].1, AMONG[among].1));
            day.map_or(f64::INFINITY, |day| day.at)
        })
    });
    (!stopped).then_some(ranges)
}

/// One quantile with its range, and the reasons for what is null in it.
fn day(
    milestone: Milestone,
    estimate: &Estimate,
    (among, q): (usize, usize),
    range: Option<Interval>,
    work: &Work,
    reasons: &mut Reasons,
) -> Option<Days> {
    let path = format!("days.{}.{}", AMONG[among].0, QUANTILES[q].0);
    let tau = whole(estimate.tau);
    let Some(day) = days::quantile(&estimate.curve, QUANTILES[q].1, AMONG[among].1) else {
        let reason =
            missing(milestone, estimate, work).unwrap_or(match estimate.curve.as_slice() {
                [] => Reason::NoneReached,
                _ => Reason::ShareNotReached {
                    reached: estimate.reached(),
                    by_day: tau,
                },
            });
        reasons.push((path, reason));
        return None;
    };
    let mut end = |name: &str, end: Option<f64>| {
        let reason = match end {
            Some(day) if day.is_finite() => return Some(day),
            Some(_) => Reason::Beyond { day: tau },
            None if work.options.resamples == 0 => Reason::NotResampled,
            None => Reason::FewReplicates {
                have: work.replicates,
                need: FEWEST_REPLICATES,
            },
        };
        reasons.push((format!("{path}.{name}"), reason));
        None
    };
    Some(Days {
        after: whole(day.after),
        by: whole(day.by),
        at: day.at,
        low: end("low", range.map(|range| range.low)),
        high: end("high", range.map(|range| range.high)),
    })
}
