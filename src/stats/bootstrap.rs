//! Bootstrap of whole replicates, seeded. It must not draw single units, nor know what statistic it
//! resamples.

use super::dice::Dice;
use super::distributions::{normal_cdf, t_quantile};
use super::shares::Interval;
use std::collections::BTreeMap;

/// Fewest replicates from which days are resampled.
pub const FEWEST_REPLICATES: usize = 5;

/// So many resamples are drawn before it is asked whether to go on.
const AT_ONCE: usize = 64;

/// Of more replicates hardly any draw comes twice: five have 126, nine 24 310.
const MOST_TWICE: usize = 9;

/// How to resample; part of what a figure reports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resampling {
    /// How many resamples, B; 999 by custom.
    pub resamples: usize,
    /// Seed of the generator.
    pub seed: u64,
    /// Confidence level, e.g. 0.95.
    pub level: f64,
}

/// Percentile intervals (Efron & Tibshirani 1993, chapter 13) of K statistics at once.
///
/// `statistics` is given how often each of the `replicates` was drawn; a value that a resample
/// cannot give is infinite and sorts last, so that an infinite end reads 'beyond'.
/// `None` for fewer than [`FEWEST_REPLICATES`] replicates or without resamples.
pub fn percentile_intervals<const K: usize>(
    replicates: usize,
    how: &Resampling,
    mut statistics: impl FnMut(&[usize]) -> [f64; K],
) -> Option<[Interval; K]> {
    if replicates < FEWEST_REPLICATES || how.resamples == 0 {
        return None;
    }
    let mut dice = Dice::stream(how.seed, 0);
    let mut values: [Vec<f64>; K] = std::array::from_fn(|_| Vec::with_capacity(how.resamples));
    let mut times = vec![0; replicates];
    for _ in 0..how.resamples {
        times.fill(0);
        for _ in 0..replicates {
            times[dice.place(replicates)] += 1;
        }
        for (list, value) in values.iter_mut().zip(statistics(&times)) {
            list.push(if value.is_nan() { f64::INFINITY } else { value });
        }
    }
    Some(values.map(|mut list| {
        list.sort_by(f64::total_cmp);
        percentile(&list, how.level)
    }))
}

/// The ends of the middle `level` of sorted values: the k-th from either side, k = (B + 1) tail.
fn percentile(sorted: &[f64], level: f64) -> Interval {
    let count = sorted.len();
    let tail = (1.0 - level) / 2.0;
    let k = ((count as f64 + 1.0) * tail + 1e-9).floor() as usize;
    let k = k.clamp(1, count);
    Interval {
        low: sorted[k - 1],
        high: sorted[count - k],
    }
}

/// Expanded percentile intervals (Hesterberg 2015, *The American Statistician* 69:371) of K statistics at once: the
/// tail of `how.level` becomes Φ(−√(m/(m − 1)) t) with t on m − 1 degrees of freedom, since resamples of few replicates
/// spread too little.
///
/// `statistics` is given several draws, each how often each of the `replicates` was drawn, and gives for each of these
/// bounds within which each statistic lies; the lower end is that of the lower bounds, the upper that of the upper bounds.
/// A bound that a resample cannot give is infinite, and so may an end be. `None` if `go_on` says no.
pub fn expanded_intervals<const K: usize>(
    replicates: usize,
    how: &Resampling,
    go_on: &mut dyn FnMut() -> bool,
    mut statistics: impl FnMut(&[Vec<usize>]) -> Vec<[Interval; K]>,
) -> Option<[Interval; K]> {
    let mut values = Vec::with_capacity(how.resamples);
    let mut known: BTreeMap<Vec<usize>, [Interval; K]> = BTreeMap::new();
    for from in (0..how.resamples).step_by(AT_ONCE) {
        if !go_on() {
            return None;
        }
        let some = from..how.resamples.min(from + AT_ONCE);
        let draws: Vec<Vec<usize>> = some.map(|at| drawn(replicates, how.seed, at)).collect();
        if replicates > MOST_TWICE {
            values.extend(statistics(&draws));
            continue;
        }
        let mut new: Vec<Vec<usize>> = draws.clone();
        new.sort_unstable();
        new.dedup();
        new.retain(|draw| !known.contains_key(draw));
        let found = statistics(&new);
        known.extend(new.into_iter().zip(found));
        values.extend(draws.iter().filter_map(|draw| known.get(draw)));
    }
    let level = expanded_level(replicates, how.level);
    Some(std::array::from_fn(|at| {
        let sorted = |end: fn(&Interval) -> f64| {
            let mut ends: Vec<f64> = values.iter().map(|value| end(&value[at])).collect();
            ends.sort_by(f64::total_cmp);
            ends
        };
        Interval {
            low: percentile(&sorted(|bounds| bounds.low), level).low,
            high: percentile(&sorted(|bounds| bounds.high), level).high,
        }
    }))
}

/// How often each replicate is drawn in the resample of a number.
fn drawn(replicates: usize, seed: u64, number: usize) -> Vec<usize> {
    let mut dice = Dice::stream(seed, number as u64);
    let mut times = vec![0; replicates];
    for _ in 0..replicates {
        times[dice.place(replicates)] += 1;
    }
    times
}

/// The level whose plain percentiles are the expanded ones of `level`.
fn expanded_level(replicates: usize, level: f64) -> f64 {
    let m = replicates as f64;
    let t = t_quantile(0.5 + level / 2.0, m - 1.0);
    1.0 - 2.0 * normal_cdf(-(m / (m - 1.0)).sqrt() * t)
}
