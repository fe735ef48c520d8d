//! Newcombe's intervals of a difference of two shares, with the exact and the corrected intervals of
//! one share. It must not be used on counts that share a fate within replicates without saying so.

use super::shares::{Count, Interval, wilson};
use super::special::normal_quantile;
use super::tails::beta_quantile;

/// The normal quantile for a two-sided interval at `level`, e.g. 0.95.
fn quantile(level: f64) -> f64 {
    normal_quantile(0.5 + 0.5 * level)
}

fn sound(count: Count) -> bool {
    count.n > 0.0 && count.n.is_finite() && count.x >= 0.0 && count.x <= count.n
}

/// The exact binomial interval of one share at `level` (Clopper & Pearson 1934, Biometrika 26:404).
/// None unless 0 ≤ x ≤ n and n > 0.
#[must_use]
pub fn exact(count: Count, level: f64) -> Option<Interval> {
    let tail = 0.5 * (1.0 - level);
    let (x, rest) = (count.x, count.n - count.x);
    sound(count).then(|| Interval {
        low: if x > 0.0 {
            beta_quantile(tail, x, rest + 1.0)
        } else {
            0.0
        },
        high: if rest > 0.0 {
            beta_quantile(1.0 - tail, x + 1.0, rest)
        } else {
            1.0
        },
    })
}

/// Wilson's interval of one share with continuity correction at `level` (Newcombe 1998, Statistics
/// in Medicine 17:857, method 4). None unless 0 ≤ x ≤ n and n > 0.
#[must_use]
pub fn corrected(count: Count, level: f64) -> Option<Interval> {
    if !sound(count) {
        return None;
    }
    let (z, n, p) = (quantile(level), count.n, count.x / count.n);
    let (centre, below) = (2.0 * n * p + z * z, 2.0 * (n + z * z));
    let reach = |sign: f64| {
        let inside = z * z - sign * 2.0 - 1.0 / n + 4.0 * p * (n * (1.0 - p) + sign);
        1.0 + z * inside.max(0.0).sqrt()
    };
    Some(Interval {
        low: if p > 0.0 {
            ((centre - reach(1.0)) / below).max(0.0)
        } else {
            0.0
        },
        high: if p < 1.0 {
            ((centre + reach(-1.0)) / below).min(1.0)
        } else {
            1.0
        },
    })
}

/// A difference of two shares, first less second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// First share less the second, −1 to 1.
    pub value: f64,
    /// Its interval.
    pub interval: Interval,
    /// Units in both.
    pub n: f64,
}

/// The difference of two independent shares with Newcombe's interval at `level`: method 10 from
/// Wilson's intervals, or method 11 from the corrected ones if `continuity` (Newcombe 1998,
/// Statistics in Medicine 17:873). None unless 0 ≤ x ≤ n and n > 0 in both.
#[must_use]
pub fn difference(first: Count, second: Count, level: f64, continuity: bool) -> Option<Difference> {
    let one = |count: Count| {
        if continuity {
            corrected(count, level)
        } else {
            sound(count).then(|| wilson(count.x, count.n, quantile(level)))
        }
    };
    let (a, b) = (one(first)?, one(second)?);
    let (p, q) = (first.x / first.n, second.x / second.n);
    Some(Difference {
        value: p - q,
        interval: Interval {
            low: p - q - (p - a.low).hypot(b.high - q),
            high: p - q + (a.high - p).hypot(q - b.low),
        },
        n: first.n + second.n,
    })
}
