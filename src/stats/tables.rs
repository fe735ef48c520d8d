//! 2×2 tables pooled over strata: Cochran–Mantel–Haenszel, pooled odds ratio, pooled difference of
//! shares, homogeneity. It must not treat clustered cuttings as settled: the caller gives the design
//! effect where one applies.

use super::distributions::{chi_square_upper, normal_quantile};
use super::shares::Interval;

/// One stratum: reached and not, in arm 0 and arm 1. Counts may be fractional, none negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table2x2 {
    /// Reached, by arm.
    pub yes: [f64; 2],
    /// Not reached, by arm.
    pub no: [f64; 2],
}

impl Table2x2 {
    fn arm(&self, arm: usize) -> f64 {
        self.yes[arm] + self.no[arm]
    }

    fn total(&self) -> f64 {
        self.arm(0) + self.arm(1)
    }

    /// Whether both arms hold something.
    fn informs(&self) -> bool {
        self.arm(0) > 0.0 && self.arm(1) > 0.0
    }

    fn share(&self, arm: usize) -> f64 {
        self.yes[arm] / self.arm(arm)
    }

    fn difference(&self) -> f64 {
        self.share(0) - self.share(1)
    }

    /// n₁n₂/(n₁+n₂).
    fn weight(&self) -> f64 {
        self.arm(0) * self.arm(1) / self.total()
    }

    /// Variance of the difference of shares; with a half added to each cell when it would be 0.
    fn variance(&self) -> f64 {
        let plain = |add: f64| -> f64 {
            let one = |arm: usize| {
                let n = self.arm(arm) + 2.0 * add;
                (self.yes[arm] + add) * (self.no[arm] + add) / n.powi(3)
            };
            one(0) + one(1)
        };
        let variance = plain(0.0);
        if variance > 0.0 { variance } else { plain(0.5) }
    }
}

fn informing(strata: &[Table2x2]) -> impl Iterator<Item = &Table2x2> {
    strata.iter().filter(|s| s.informs())
}

/// A χ² statistic with its p.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChiSquare {
    /// The statistic.
    pub chi2: f64,
    /// Degrees of freedom.
    pub df: usize,
    /// Upper-tail p.
    pub p: f64,
    /// Strata with both arms.
    pub strata: usize,
}

/// The Cochran–Mantel–Haenszel test of no association within strata, one degree of freedom, with the
/// continuity correction of one half if `corrected` (never past 0), as R's `mantelhaen.test`
/// (Mantel & Haenszel 1959, *Journal of the National Cancer Institute* 22:719).
/// None when no stratum varies in both arm and outcome.
#[must_use]
pub fn cochran_mantel_haenszel(strata: &[Table2x2], corrected: bool) -> Option<ChiSquare> {
    let (mut off, mut variance, mut count) = (0.0, 0.0, 0);
    for stratum in informing(strata) {
        let total = stratum.total();
        let yes = stratum.yes[0] + stratum.yes[1];
        let arms = stratum.arm(0) * stratum.arm(1);
        off += stratum.yes[0] - stratum.arm(0) * yes / total;
        if total > 1.0 {
            variance += arms * yes * (total - yes) / (total * total * (total - 1.0));
        }
        count += 1;
    }
    if variance <= 0.0 {
        return None;
    }
    let correction = if corrected {
        0.5f64.min(off.abs())
    } else {
        0.0
    };
    let chi2 = (off.abs() - correction).powi(2) / variance;
    Some(ChiSquare {
        chi2,
        df: 1,
        p: chi_square_upper(chi2, 1.0),
        strata: count,
    })
}

/// An estimate with an interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PooledEstimate {
    /// The estimate.
    pub value: f64,
    /// Its standard error (of the logarithm, for a ratio).
    pub standard_error: f64,
    /// Its interval.
    pub interval: Interval,
    /// Strata with both arms.
    pub strata: usize,
    /// Cuttings in them.
    pub total: f64,
}

/// Two-sided normal quantile for a level such as 0.95.
fn two_sided_z(level: f64) -> f64 {
    normal_quantile(0.5 + 0.5 * level)
}

fn size(strata: &[Table2x2]) -> (usize, f64) {
    informing(strata).fold((0, 0.0), |(count, total), s| (count + 1, total + s.total()))
}

/// Mantel–Haenszel odds ratio of arm 0 over arm 1 with the interval of Robins, Breslow & Greenland
/// (1986, *Biometrics* 42:311) at `level`. None when it would be 0 or infinite.
#[must_use]
pub fn odds_ratio(strata: &[Table2x2], level: f64) -> Option<PooledEstimate> {
    let (mut r, mut s) = (0.0, 0.0);
    let (mut pr, mut mixed, mut qs) = (0.0, 0.0, 0.0);
    for stratum in informing(strata) {
        let total = stratum.total();
        let (concordant, discordant) = (
            stratum.yes[0] * stratum.no[1] / total,
            stratum.yes[1] * stratum.no[0] / total,
        );
        let p = (stratum.yes[0] + stratum.no[1]) / total;
        r += concordant;
        s += discordant;
        pr += p * concordant;
        mixed += p * discordant + (1.0 - p) * concordant;
        qs += (1.0 - p) * discordant;
    }
    if r <= 0.0 || s <= 0.0 {
        return None;
    }
    let variance = pr / (2.0 * r * r) + mixed / (2.0 * r * s) + qs / (2.0 * s * s);
    let (value, standard_error) = (r / s, variance.sqrt());
    let reach = (two_sided_z(level) * standard_error).exp();
    let (count, total) = size(strata);
    Some(PooledEstimate {
        value,
        standard_error,
        interval: Interval {
            low: value / reach,
            high: value * reach,
        },
        strata: count,
        total,
    })
}

/// Mantel–Haenszel difference of shares, arm 0 less arm 1, weights n₁n₂/(n₁+n₂), with the standard
/// error of Greenland & Robins (1985, *Biometrics* 41:55) times √`design_effect`, and a normal
/// interval at `level` kept inside −1..1. None when no stratum has both arms.
#[must_use]
pub fn risk_difference(
    strata: &[Table2x2],
    level: f64,
    design_effect: f64,
) -> Option<PooledEstimate> {
    let (mut above, mut below, mut spread) = (0.0, 0.0, 0.0);
    for stratum in informing(strata) {
        let (n0, n1) = (stratum.arm(0), stratum.arm(1));
        above += stratum.weight() * stratum.difference();
        below += stratum.weight();
        let cells = stratum.yes[0] * stratum.no[0] * n1.powi(3)
            + stratum.yes[1] * stratum.no[1] * n0.powi(3);
        spread += cells / (n0 * n1 * stratum.total().powi(2));
    }
    if below <= 0.0 {
        return None;
    }
    let value = above / below;
    let standard_error = (spread * design_effect.max(1.0)).sqrt() / below;
    let reach = two_sided_z(level) * standard_error;
    let (count, total) = size(strata);
    Some(PooledEstimate {
        value,
        standard_error,
        interval: Interval {
            low: (value - reach).max(-1.0),
            high: (value + reach).min(1.0),
        },
        strata: count,
        total,
    })
}

/// Cochran's Q: do the differences of shares agree across strata? Inverse-variance weights, each
/// variance times `design_effect` (Cochran 1954, *Biometrics* 10:101). A stratum whose variance would
/// be 0 has a half added to each cell for its variance. None under two strata with both arms.
#[must_use]
pub fn homogeneity(strata: &[Table2x2], design_effect: f64) -> Option<ChiSquare> {
    let parts: Vec<(f64, f64)> = informing(strata)
        .map(|s| {
            (
                s.difference(),
                1.0 / (s.variance() * design_effect.max(1.0)),
            )
        })
        .collect();
    if parts.len() < 2 {
        return None;
    }
    let weights: f64 = parts.iter().map(|(_, w)| w).sum();
    let mean = parts.iter().map(|(d, w)| d * w).sum::<f64>() / weights;
    let chi2 = parts.iter().map(|(d, w)| w * (d - mean).powi(2)).sum();
    let df = parts.len() - 1;
    Some(ChiSquare {
        chi2,
        df,
        p: chi_square_upper(chi2, df as f64),
        strata: parts.len(),
    })
}

/// WholeTable of two arms: `yes[0]` of `yes[0] + no[0]` in the first, likewise in the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WholeTable {
    /// Reached, by arm.
    pub yes: [u32; 2],
    /// Not reached, by arm.
    pub no: [u32; 2],
}

/// p values of Fisher's exact test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fisher {
    /// Two-sided: all tables with the same margins no likelier than the one seen.
    pub p: f64,
    /// One-sided, for a smaller share in the first arm.
    pub p_less: f64,
    /// One-sided, for a greater share in the first arm.
    pub p_greater: f64,
}

/// Relative slack within which two tables count as equally likely, as R's `fisher.test` has it.
const SAME_CHANCE: f64 = 1e-7;

/// Fisher's exact test (Fisher 1935, *The Design of Experiments*), two-sided by the rule of R's
/// `fisher.test`. An empty arm or column gives p = 1.
#[must_use]
pub fn fisher_exact(counts: WholeTable) -> Fisher {
    let [a, b] = counts.yes.map(u64::from);
    let [c, d] = counts.no.map(u64::from);
    let (first, second, yes) = (a + c, b + d, a + b);
    let lowest = yes.saturating_sub(second);
    let highest = yes.min(first);
    let mut logs = Vec::with_capacity((highest - lowest + 1) as usize);
    let mut log = 0.0f64;
    for x in lowest..=highest {
        if x > lowest {
            // Ratio of neighbouring hypergeometric chances.
            let up = (first - x + 1) as f64 * (yes - x + 1) as f64;
            let down = x as f64 * (second + x - yes) as f64;
            log += (up / down).ln();
        }
        logs.push(log);
    }
    let peak = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|log| (log - peak).exp()).collect();
    let total: f64 = weights.iter().sum();
    let seen = (a - lowest) as usize;
    let bar = weights[seen] * (1.0 + SAME_CHANCE);
    let share = |sum: f64| (sum / total).min(1.0);
    Fisher {
        p: share(weights.iter().filter(|w| **w <= bar).sum()),
        p_less: share(weights[..=seen].iter().sum()),
        p_greater: share(weights[seen..].iter().rev().sum()),
    }
}
