//! Whether two measures go together within strata: a pooled rank correlation and a slope, p by permutation,
//! intervals by resampling. It claims no cause and knows no plant.
//!
//! With one stratum the correlation is Spearman's (1904, *American Journal of Psychology* 15:72), ties at their
//! mean rank; over strata the sums of products and squares of within-stratum ranks are pooled. The slope is that
//! of least squares with an intercept for each stratum.

use super::bootstrap::{Draws, Resampling, percentile_intervals};
use super::permute::SLACK;
use super::shares::Interval;

/// A pair of measures.
pub type Pair = (f64, f64);

/// What a set of pairs in strata says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Association {
    /// Pairs in strata of two and more.
    pub pairs: usize,
    /// Strata of two and more.
    pub strata: usize,
    /// The pooled rank correlation, −1 to 1.
    pub rho: f64,
    /// Its percentile interval; none under five pairs.
    pub rho_interval: Option<Interval>,
    /// The slope: of the second measure by one unit of the first.
    pub slope: f64,
    /// Its percentile interval.
    pub slope_interval: Option<Interval>,
    /// Two-sided p of the correlation: (1 + b)/(B + 1), the second measure permuted within strata.
    pub p: f64,
    /// The smallest p that these numbers could give: 2 over the product of the strata's factorials.
    pub smallest_p: f64,
}

/// Ranks from 1, ties at their mean.
#[must_use]
pub fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut out = vec![0.0; values.len()];
    let mut from = 0;
    while from < order.len() {
        let same = |&&at: &&usize| values[at] == values[order[from]];
        let to = from + order[from..].iter().take_while(same).count().max(1);
        let mean = 0.5 * (from + 1 + to) as f64;
        for &at in &order[from..to] {
            out[at] = mean;
        }
        from = to;
    }
    out
}

/// Values less their mean.
fn centred(values: &[f64]) -> Vec<f64> {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.iter().map(|value| value - mean).collect()
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Centred ranks of both measures, stratum by stratum.
struct Ranked {
    first: Vec<f64>,
    second: Vec<f64>,
}

fn ranked(stratum: &[Pair]) -> Ranked {
    let (first, second): (Vec<f64>, Vec<f64>) = stratum.iter().copied().unzip();
    Ranked {
        first: centred(&ranks(&first)),
        second: centred(&ranks(&second)),
    }
}

/// The pooled rank correlation; none where either measure is the same throughout every stratum.
#[must_use]
pub fn rho(strata: &[Vec<Pair>]) -> Option<f64> {
    let (mut both, mut first, mut second) = (0.0, 0.0, 0.0);
    for stratum in strata.iter().filter(|stratum| stratum.len() > 1) {
        let it = ranked(stratum);
        both += product(&it.first, &it.second);
        first += product(&it.first, &it.first);
        second += product(&it.second, &it.second);
    }
    let spread = (first * second).sqrt();
    (spread > 0.0).then(|| both / spread)
}

/// The pooled least-squares slope; none where the first measure is the same throughout every stratum.
#[must_use]
pub fn slope(strata: &[Vec<Pair>]) -> Option<f64> {
    let (mut both, mut first) = (0.0, 0.0);
    for stratum in strata.iter().filter(|stratum| stratum.len() > 1) {
        let (x, y): (Vec<f64>, Vec<f64>) = stratum.iter().copied().unzip();
        let (x, y) = (centred(&x), centred(&y));
        both += product(&x, &y);
        first += product(&x, &x);
    }
    (first > 0.0).then(|| both / first)
}

/// All of it, with `draws` permutations and the resamples of `how`, both from its seed. None where there is no
/// correlation to speak of: no stratum of two, or a measure that never varies.
#[must_use]
pub fn association(strata: &[Vec<Pair>], how: &Resampling, draws: usize) -> Option<Association> {
    let kept: Vec<Vec<Pair>> = strata.iter().filter(|s| s.len() > 1).cloned().collect();
    let (observed, steep) = (rho(&kept)?, slope(&kept)?);
    let pairs = kept.iter().map(Vec::len).sum();
    let intervals = intervals(&kept, pairs, how, (observed, steep));
    let possible: f64 = kept
        .iter()
        .map(|stratum| (1..=stratum.len()).map(|n| n as f64).product::<f64>())
        .product();
    Some(Association {
        pairs,
        strata: kept.len(),
        rho: observed,
        rho_interval: intervals.map(|it| it.0),
        slope: steep,
        slope_interval: intervals.map(|it| it.1),
        p: permuted(&kept, draws, how.seed),
        smallest_p: (2.0 / possible).min(1.0),
    })
}

/// Percentile intervals of correlation and slope. Drawing pairs anew within strata of two or three would mostly
/// draw the same pair again, so each pair is drawn with its distances from its stratum's means, as ranks and as
/// measured; since a mean was taken off each stratum, the interval is widened by √(n/(n − strata)).
fn intervals(
    strata: &[Vec<Pair>],
    pairs: usize,
    how: &Resampling,
    (rho, slope): (f64, f64),
) -> Option<(Interval, Interval)> {
    let mut rows: Vec<[f64; 4]> = Vec::with_capacity(pairs);
    for stratum in strata {
        let by_rank = ranked(stratum);
        let (x, y): (Vec<f64>, Vec<f64>) = stratum.iter().copied().unzip();
        let (x, y) = (centred(&x), centred(&y));
        for at in 0..stratum.len() {
            rows.push([by_rank.first[at], by_rank.second[at], x[at], y[at]]);
        }
    }
    let drawn = percentile_intervals(pairs, how, |times| {
        let sum = |of: &dyn Fn(&[f64; 4]) -> f64| -> f64 {
            let each = rows.iter().zip(times);
            each.map(|(row, times)| of(row) * *times as f64).sum()
        };
        let spread = (sum(&|r| r[0] * r[0]) * sum(&|r| r[1] * r[1])).sqrt();
        let (both, first) = (sum(&|r| r[2] * r[3]), sum(&|r| r[2] * r[2]));
        // A draw without spread says nothing either way.
        let or_none = |top: f64, bottom: f64| if bottom > 0.0 { top / bottom } else { 0.0 };
        [or_none(sum(&|r| r[0] * r[1]), spread), or_none(both, first)]
    })?;
    let free = pairs.saturating_sub(strata.len()).max(1);
    let wider = (pairs as f64 / free as f64).sqrt();
    let widened = |ends: Interval, about: f64| Interval {
        low: about + wider * (ends.low - about),
        high: about + wider * (ends.high - about),
    };
    let whole = widened(drawn[0], rho);
    let held = Interval {
        low: whole.low.max(-1.0),
        high: whole.high.min(1.0),
    };
    Some((held, widened(drawn[1], slope)))
}

/// Share of permutations with a correlation at least as far from none. Ranks and their squares do not change
/// under permutation, so the sum of products is compared.
fn permuted(strata: &[Vec<Pair>], draws: usize, seed: u64) -> f64 {
    let mut sets: Vec<Ranked> = strata.iter().map(|stratum| ranked(stratum)).collect();
    let sum =
        |sets: &[Ranked]| -> f64 { sets.iter().map(|it| product(&it.first, &it.second)).sum() };
    let observed = sum(&sets).abs();
    let mut stream = Draws::new(seed);
    let mut far = 0_usize;
    for _ in 0..draws {
        for set in &mut sets {
            // Fisher and Yates, from the end.
            for at in (1..set.second.len()).rev() {
                set.second.swap(at, stream.below(at + 1));
            }
        }
        far += usize::from(sum(&sets).abs() >= observed - SLACK);
    }
    (1 + far) as f64 / (draws + 1) as f64
}

/// The mean of paired differences with its percentile interval, and two-sided p by flipping their signs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paired {
    /// The mean difference.
    pub mean: f64,
    /// Its interval; none under five.
    pub interval: Option<Interval>,
    /// (1 + b)/(B + 1) over random signs (Fisher 1935, *The Design of Experiments*, section 21).
    pub p: f64,
    /// The smallest p that so many could give: 2 over 2ⁿ.
    pub smallest_p: f64,
}

/// Of paired differences; none if there is none.
#[must_use]
pub fn paired(differences: &[f64], how: &Resampling, draws: usize) -> Option<Paired> {
    let count = differences.len();
    if count == 0 {
        return None;
    }
    let mean = differences.iter().sum::<f64>() / count as f64;
    let intervals = percentile_intervals(count, how, |times| {
        let sum: f64 = differences
            .iter()
            .zip(times)
            .map(|(d, n)| d * *n as f64)
            .sum();
        [sum / count as f64]
    });
    let mut stream = Draws::new(how.seed);
    let observed = (mean * count as f64).abs();
    let mut far = 0_usize;
    for _ in 0..draws {
        let mut sum = 0.0;
        for difference in differences {
            sum += if stream.below(2) == 0 {
                *difference
            } else {
                -difference
            };
        }
        far += usize::from(sum.abs() >= observed - SLACK);
    }
    Some(Paired {
        mean,
        interval: intervals.map(|it| it[0]),
        p: (1 + far) as f64 / (draws + 1) as f64,
        smallest_p: (2.0 * 0.5_f64.powi(count.min(1000) as i32)).min(1.0),
    })
}
