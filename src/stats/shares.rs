//! Shares with an interval that allows for units sharing a fate within a replicate. It must not
//! know what was counted.

/// A lower and an upper end.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// One replicate's count: `x` of `n`; either may be fractional.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    /// How many of them reached the event.
    pub x: f64,
    /// How many there were.
    pub n: f64,
}

/// Wilson's score interval for `x` of `n` at the normal or t quantile `z` (Wilson 1927, JASA
/// 22:209). `x` and `n` may be fractional; with no units it is 0 to 1.
#[must_use]
pub fn wilson(x: f64, n: f64, z: f64) -> Interval {
    if n <= 0.0 {
        return Interval {
            low: 0.0,
            high: 1.0,
        };
    }
    let share = (x / n).clamp(0.0, 1.0);
    let square = z * z / n;
    let centre = share + square / 2.0;
    let half = (square * (share * (1.0 - share) + square / 4.0)).sqrt();
    let low = if share <= 0.0 {
        0.0
    } else {
        (centre - half) / (1.0 + square)
    };
    let high = if share >= 1.0 {
        1.0
    } else {
        (centre + half) / (1.0 + square)
    };
    Interval {
        low: low.max(0.0),
        high: high.min(1.0),
    }
}

/// Variance between replicates of the pooled share, as of a ratio estimator: Cochran 1977,
/// Sampling Techniques, equation 6.9 with m / (m − 1). Zero with fewer than two replicates.
#[must_use]
pub fn cluster_variance(counts: &[Count]) -> f64 {
    let used = || counts.iter().filter(|c| c.n > 0.0);
    let m = used().count() as f64;
    let n: f64 = used().map(|c| c.n).sum();
    let share = used().map(|c| c.x).sum::<f64>() / n;
    let squares: f64 = used().map(|c| (c.x - share * c.n).powi(2)).sum();
    if m > 1.0 {
        m / (m - 1.0) * squares / (n * n)
    } else {
        0.0
    }
}

/// Jackknife variance of a statistic from its values with each replicate left out in turn:
/// (m − 1) / m Σ (θᵢ − mean)² (Efron & Tibshirani 1993, equation 11.5). Zero with fewer than two.
#[must_use]
pub fn jackknife_variance(left_out: &[f64]) -> f64 {
    let m = left_out.len() as f64;
    let mean = left_out.iter().sum::<f64>() / m;
    let squares: f64 = left_out.iter().map(|value| (value - mean).powi(2)).sum();
    if m > 1.0 {
        (m - 1.0) / m * squares
    } else {
        0.0
    }
}
