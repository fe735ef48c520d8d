//! Whether two measures go together within strata (a pooled rank correlation and a slope, p by permutation, intervals
//! by resampling), and whether a fact goes with two arms (Cramér's V). It claims no cause and knows no plant.
//!
//! With one stratum the correlation is Spearman's (1904, *American Journal of Psychology* 15:72), ties at their
//! mean rank; over strata the sums of products and squares of within-stratum ranks are pooled. The slope is that
//! of least squares with an intercept for each stratum.

use super::bootstrap::{Resampling, percentile_intervals};
use super::dice::Dice;
use super::shares::Interval;

/// Slack within which two statistics count as equal.
const SLACK: f64 = 1e-9;

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
    let mut dice = Dice::stream(seed, 0);
    let mut far = 0_usize;
    for _ in 0..draws {
        for set in &mut sets {
            // Fisher and Yates, from the end.
            for at in (1..set.second.len()).rev() {
                set.second.swap(at, dice.place(at + 1));
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

/// Tests whether paired differences average to zero. None if there are no differences.
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
    let mut dice = Dice::stream(how.seed, 0);
    let observed = (mean * count as f64).abs();
    let mut far = 0_usize;
    for _ in 0..draws {
        let mut sum = 0.0;
        for difference in differences {
            sum += if dice.place(2) == 0 {
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

/// One unit: its stratum, its arm and the level of a fact, each by number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Membership {
    /// The stratum.
    pub stratum: usize,
    /// The arm, 0 or 1.
    pub arm: usize,
    /// The fact's level.
    pub level: usize,
}

/// How far a fact goes with two arms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CramersV {
    /// 0 where it does not, 1 where each arm has a value of its own.
    pub v: f64,
    /// Share of permutations of the fact within strata that go as far with the arms; (1 + b)/(B + 1).
    pub p: f64,
}

/// Cramér's V of arms and a fact over strata, bias-corrected (Bergsma 2013, *Journal of the Korean Statistical
/// Society* 42:323). In one stratum it is Bergsma's: φ² = χ²/n less (r − 1)(c − 1)/(n − 1), r and c likewise. Over
/// strata counts less their expectations are added up before they are squared, as in a Mantel–Haenszel test, and n − 1
/// is n less the strata: so a fact that differs one way in one stratum and the other way in the next does not count,
/// and one that is the same throughout a stratum thins it out. None where the fact never differs within a stratum, or
/// there is one arm, or V is under `least`: then nothing is drawn.
#[must_use]
pub fn cramers_v(units: &[Membership], least: f64, draws: usize, seed: u64) -> Option<CramersV> {
    let mut sorted = units.to_vec();
    sorted.sort_by_key(|unit| unit.stratum);
    let levels = sorted.iter().map(|unit| unit.level).max()? + 1;
    let strata: Vec<&[Membership]> = sorted.chunk_by(|a, b| a.stratum == b.stratum).collect();
    let varies = |stratum: &&[Membership], of: fn(&Membership) -> usize| {
        stratum.iter().any(|unit| of(unit) != of(&stratum[0]))
    };
    let told = |it: &&[Membership]| varies(it, |unit| unit.arm) && varies(it, |unit| unit.level);
    if !strata.iter().any(told) {
        return None;
    }
    let is_first: Vec<bool> = sorted.iter().map(|unit| unit.arm == 0).collect();
    let mut of_units: Vec<usize> = sorted.iter().map(|unit| unit.level).collect();
    let sizes: Vec<usize> = strata.iter().map(|stratum| stratum.len()).collect();
    let expected = expected_counts(&strata, levels);
    let observed = phi_squared(&is_first, &of_units, &expected);
    let used = sorted.iter().map(|unit| unit.level);
    let used = used.collect::<std::collections::BTreeSet<_>>().len();
    let v = corrected_v(observed, used, sorted.len(), sizes.len());
    if v < least {
        return None;
    }
    let mut dice = Dice::stream(seed, 0);
    let mut far = 0_usize;
    for _ in 0..draws {
        let mut start = 0;
        for size in &sizes {
            for at in (1..*size).rev() {
                of_units.swap(start + at, start + dice.place(at + 1));
            }
            start += size;
        }
        let drawn = phi_squared(&is_first, &of_units, &expected);
        far += usize::from(drawn >= observed - SLACK);
    }
    Some(CramersV {
        v,
        p: (1 + far) as f64 / (draws + 1) as f64,
    })
}

/// By level: how many of either arm would have it if the arms of each stratum had the same. Permuting a fact within strata
/// does not change them.
fn expected_counts(strata: &[&[Membership]], levels: usize) -> Vec<[f64; 2]> {
    let mut expected = vec![[0.0; 2]; levels];
    for stratum in strata {
        let first = stratum.iter().filter(|unit| unit.arm == 0).count() as f64;
        let share = first / stratum.len() as f64;
        for unit in *stratum {
            expected[unit.level][0] += share;
            expected[unit.level][1] += 1.0 - share;
        }
    }
    expected
}

/// The pooled χ² over the number of units.
fn phi_squared(is_first: &[bool], of_units: &[usize], expected: &[[f64; 2]]) -> f64 {
    // Of arm 0 by level; the other arm's differences are the same with the other sign.
    let mut counts = vec![0_u32; expected.len()];
    for (first, level) in is_first.iter().zip(of_units) {
        counts[*level] += u32::from(*first);
    }
    let terms = counts.iter().zip(expected).map(|(count, expected)| {
        let off = f64::from(*count) - expected[0];
        let term = |expected: f64| {
            if expected > 0.0 {
                off * off / expected
            } else {
                0.0
            }
        };
        term(expected[0]) + term(expected[1])
    });
    terms.sum::<f64>() / is_first.len() as f64
}

fn corrected_v(phi_squared: f64, levels: usize, units: usize, strata: usize) -> f64 {
    let free = units.saturating_sub(strata) as f64;
    let steps = levels as f64 - 1.0;
    let kept = (phi_squared - steps / free).max(0.0);
    let rows = 1.0 - 1.0 / free;
    let columns = steps - steps * steps / free;
    let most = rows.min(columns);
    if most > SLACK {
        (kept / most).sqrt().min(1.0)
    } else if phi_squared >= 1.0 - SLACK {
        // Too few to correct, and each arm has a value of its own.
        1.0
    } else {
        0.0
    }
}
