//! The interval of a difference by inverting its permutation test. It must not assume normality.
//!
//! Shift model: every replicate of arm 0 has δ more (a share or mean) than it would have had in arm 1.
//! δ belongs to the interval when the within-stratum permutation test of the shifted replicates has
//! p > α (Edgington & Onghena 2007; Ernst 2004, *Statistical Science* 19:676). The pooled difference
//! is linear in δ under each arrangement, T(δ) = A − δB, so each arrangement is at least as far out as
//! the observed one exactly between two roots around the estimate, and sorting the roots gives both
//! ends without a search.

use super::permute::{Draw, Pooled, Replicate, SLACK, layout_of};
use super::shares::Interval;

/// A difference with the interval from its permutation test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inverted {
    /// The Mantel–Haenszel difference, arm 0 less arm 1.
    pub value: f64,
    /// Its interval; an end is infinite when these numbers cannot reject any δ on that side.
    pub interval: Interval,
    /// Confidence level, 0.95 for α = 0.05.
    pub level: f64,
    /// Arrangements looked at, the observed one included.
    pub arrangements: usize,
    /// Whether these were all there are.
    pub exact: bool,
    /// Replicates permuted.
    pub replicates: usize,
}

/// The interval of the difference arm 0 less arm 1 at `level` (0.95), strata pooled with
/// Mantel–Haenszel weights. None when no stratum has both arms or `level` is not in 0..1.
#[must_use]
pub fn interval(strata: &[Vec<Replicate>], level: f64, draw: Draw) -> Option<Inverted> {
    if !(level > 0.0 && level < 1.0) {
        return None;
    }
    let layout = layout_of(strata);
    let values = Pooled::new(strata);
    let shifts = Pooled::new(&indicators(strata));
    let parts = |labels: &[u8]| {
        let (above, below) = values.parts(labels);
        (above / below, shifts.parts(labels).0 / below)
    };
    let (value, _) = parts(layout.labels());
    if !value.is_finite() {
        return None;
    }
    let mut lines = Vec::new();
    let exact = layout.each(draw.seed, draw.draws, draw.all_up_to, |labels| {
        lines.push(parts(labels));
    });
    Some(Inverted {
        value,
        interval: ends(&lines, parts(layout.labels()), 1.0 - level, exact),
        level,
        arrangements: lines.len(),
        exact,
        replicates: layout.labels().len(),
    })
}

/// The same replicates, each of arm 0 holding one a cutting and each of arm 1 nothing.
fn indicators(strata: &[Vec<Replicate>]) -> Vec<Vec<Replicate>> {
    let mark = |r: &Replicate| Replicate {
        sum: if r.arm == 0 { r.weight } else { 0.0 },
        ..*r
    };
    strata
        .iter()
        .map(|s| s.iter().map(mark).collect())
        .collect()
}

/// Ends of {δ : share of lines at least as far out as the observed one > alpha}; centred on the mean
/// of all lines, or on 0 when they were drawn, as the test is.
fn ends(lines: &[(f64, f64)], observed: (f64, f64), alpha: f64, exact: bool) -> Interval {
    let mean = |pick: fn(&(f64, f64)) -> f64| {
        let finite = || lines.iter().map(pick).filter(|value| value.is_finite());
        finite().sum::<f64>() / finite().count() as f64
    };
    let (mean_a, mean_b) = if exact {
        (mean(|line| line.0), mean(|line| line.1))
    } else {
        (0.0, 0.0)
    };
    let centred = (observed.0 - mean_a, observed.1 - mean_b);
    let (mut lows, mut highs): (Vec<f64>, Vec<f64>) = lines
        .iter()
        .map(|&(a, b)| roots((a - mean_a, b - mean_b), centred))
        .unzip();
    lows.sort_by(f64::total_cmp);
    highs.sort_by(|x, y| y.total_cmp(x));
    // More than alpha of the arrangements must reach out to an end that is kept.
    let needed = (alpha * lines.len() as f64 + SLACK).floor() as usize;
    let keep = needed.min(lines.len() - 1);
    Interval {
        low: lows[keep],
        high: highs[keep],
    }
}

/// Where |a − δb| ≥ |a₀ − δb₀|: between the two roots, or everywhere if the line is as steep as the
/// observed one or is not finite (then it counts as far out, as in the test).
fn roots(line: (f64, f64), observed: (f64, f64)) -> (f64, f64) {
    const STEEP: f64 = 1e-12;
    let steeper = line.1.abs() >= observed.1.abs() - STEEP;
    if steeper || !(line.0.is_finite() && line.1.is_finite()) {
        return (f64::NEG_INFINITY, f64::INFINITY);
    }
    let one = (line.0 - observed.0) / (line.1 - observed.1);
    let two = (line.0 + observed.0) / (line.1 + observed.1);
    (one.min(two), one.max(two))
}
