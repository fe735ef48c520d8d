//! The days by which shares of a group reached a milestone, and how sure they are. It estimates no curve itself.

use super::figure::{Figure, Missing};
use super::sample::{GroupUnit, Sample, TimelineOptions};
use crate::stats::bootstrap::{FEWEST_REPLICATES, Resampling, expanded_intervals};
use crate::stats::npmle::{Among, Estimate, Mass, Quantile, quantile, resampled_quantile};
use crate::stats::shares::Interval;
use serde::{Serialize, Serializer};

/// The quantiles given, with their names.
const QUANTILES: [(&str, f64); 3] = [("p10", 0.1), ("p50", 0.5), ("p90", 0.9)];

/// Whose days are given: of all stuck, of those that reached.
const AMONG: [Among; 2] = [Among::All, Among::Reached];

/// How many numbers a resample gives: each quantile of either kind.
const NUMBERS: usize = QUANTILES.len() * AMONG.len();

/// Looks further apart than this many days do not tell a day.
const WIDEST: f64 = 14.0;

/// Whether looks on these two days are too far apart to tell a day between them.
fn is_too_wide(after: f64, by: f64) -> bool {
    by - after > WIDEST || by - after > by / 2.0
}

/// A quantile of a curve as far as the looks of any one batch tell it: where they do not, from the last look before it.
fn as_looked(sample: &Sample, mut day: Quantile) -> Quantile {
    let look = sample.last_look_before(day.after, day.by);
    if is_too_wide(look, day.by) {
        day.after = look;
    }
    day
}

/// Days by which 10, 50 and 90 % got there, in this order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayQuantiles(pub [Figure<QuantileDay>; 3]);

impl DayQuantiles {
    /// Each with its name: `p10`, `p50`, `p90`.
    pub fn named(&self) -> impl Iterator<Item = (&'static str, &Figure<QuantileDay>)> {
        QUANTILES.iter().map(|(name, _)| *name).zip(&self.0)
    }
}

impl Serialize for DayQuantiles {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_map(self.named())
    }
}

/// The days of a milestone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MilestoneDays {
    /// Days by which shares of all stuck had reached the milestone.
    pub all: DayQuantiles,
    /// Days by which shares of those that reached the milestone had done so.
    pub reached: DayQuantiles,
}

/// A day since sticking, known to lie in (`after`, `by`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct QuantileDay {
    /// Not on this day yet.
    pub after: u32,
    /// Upper end of the support interval, in days since sticking.
    pub by: u32,
    /// By a straight line between them; missing where they are too far apart to tell.
    #[serde(flatten, serialize_with = "at")]
    pub at: Figure<f64>,
    /// Lower end of its confidence interval.
    #[serde(flatten, serialize_with = "low")]
    pub low: Figure<f64>,
    /// Upper end.
    #[serde(flatten, serialize_with = "high")]
    pub high: Figure<f64>,
}

impl QuantileDay {
    /// The day itself, or the one by which it had come where looks cannot tell.
    #[must_use]
    pub fn at_or_by(&self) -> f64 {
        self.at.value().copied().unwrap_or(f64::from(self.by))
    }
}

/// Writes a number under its own name, null where it is missing with the reason beside it.
macro_rules! beside {
    ($($name:ident, $why:ident;)*) => {$(
        fn $name<S: Serializer>(figure: &Figure<f64>, to: S) -> Result<S::Ok, S::Error> {
            #[derive(Serialize)]
            struct Beside {
                $name: Option<f64>,
                #[serde(skip_serializing_if = "Option::is_none")]
                $why: Option<Missing>,
            }
            Beside {
                $name: figure.value().copied(),
                $why: figure.missing(),
            }
            .serialize(to)
        }
    )*};
}

beside! {
    at, at_why;
    low, low_why;
    high, high_why;
}

/// The days of a milestone; `missing` is the reason why there are none, if so. `None` if `go_on` says no.
pub(super) fn days(
    sample: &Sample,
    estimate: &Estimate,
    missing: Option<Missing>,
    options: &TimelineOptions,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<MilestoneDays> {
    let tau = estimate.tau as u32;
    let ranges = ranges(sample, estimate, options, go_on)?;
    let [all, reached] = std::array::from_fn(|among| {
        DayQuantiles(std::array::from_fn(|q| {
            let day = quantile(&estimate.curve, QUANTILES[q].1, AMONG[among]);
            let Some(day) = day.map(|day| as_looked(sample, day)) else {
                let short = if estimate.curve.is_empty() {
                    Missing::NoneReached
                } else {
                    Missing::ShareNotReached {
                        reached: estimate.reached(),
                        by_day: tau,
                    }
                };
                return Figure::Missing(missing.unwrap_or(short));
            };
            let range = ranges.map(|ranges| ranges[among * QUANTILES.len() + q]);
            Figure::Value(told_day(&day, range, tau))
        }))
    });
    Some(MilestoneDays { all, reached })
}

/// A quantile with its range, or with why it has none.
fn told_day(day: &Quantile, range: Result<Interval, Missing>, tau: u32) -> QuantileDay {
    let end = |end: fn(&Interval) -> f64| match range.as_ref().map(end) {
        Ok(day) if day.is_finite() => Figure::Value(day),
        Ok(_) => Figure::Missing(Missing::Beyond { day: tau }),
        Err(why) => Figure::Missing(*why),
    };
    QuantileDay {
        after: day.after as u32,
        by: day.by as u32,
        at: if is_too_wide(day.after, day.by) {
            Figure::Missing(Missing::TooWide)
        } else {
            Figure::Value(day.at)
        },
        low: end(|range| range.low),
        high: end(|range| range.high),
    }
}

/// The ranges of all days by resampling, or why there are none. `None` if `go_on` says no.
fn ranges(
    sample: &Sample,
    estimate: &Estimate,
    options: &TimelineOptions,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Result<[Interval; NUMBERS], Missing>> {
    let have = sample.units();
    if options.resamples == 0 || estimate.curve.is_empty() {
        return Some(Err(Missing::NotResampled));
    }
    if have < FEWEST_REPLICATES {
        let need = FEWEST_REPLICATES;
        return Some(Err(match sample.unit {
            GroupUnit::Batch => Missing::FewReplicates { have, need },
            GroupUnit::Nursery => Missing::FewNurseries { have, need },
        }));
    }
    let how = Resampling {
        resamples: options.resamples,
        seed: options.seed,
        level: options.level,
    };
    let bounds = |curve: &Option<Vec<Mass>>| {
        std::array::from_fn(|number| {
            let (among, q) = (number / QUANTILES.len(), number % QUANTILES.len());
            let of = |curve: &Vec<Mass>| resampled_quantile(curve, QUANTILES[q].1, AMONG[among]);
            let day = curve
                .as_ref()
                .and_then(of)
                .map(|day| as_looked(sample, day));
            Interval {
                low: day.map_or(f64::INFINITY, |day| day.after),
                high: day.map_or(f64::INFINITY, |day| day.by),
            }
        })
    };
    let drawn = |draws: &[Vec<usize>]| {
        let curves = sample.rows.resample(draws, estimate);
        curves.iter().map(bounds).collect()
    };
    expanded_intervals(have, &how, go_on, drawn).map(Ok)
}
