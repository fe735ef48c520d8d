//! Two groups of interval-censored rows compared by Sun's log-rank scores. It must not compare
//! outcomes: a unit lost first counts as waiting until it was lost.
//!
//! It treats units as independent; where they come in replicates it overstates certainty.

use super::distributions::normal_cdf;
use super::npmle::{Mass, Outcome, Row, estimate};

/// The comparison by the asymptotic permutation distribution of the scores.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogRank {
    /// Sum of the first group's scores; above 0 if it reached the event sooner.
    pub u: f64,
    /// `u` over its standard deviation when groups are relabelled at random.
    pub z: f64,
    /// Two-sided p-value of `z` under the normal distribution.
    pub p: f64,
    /// Units in the first and in the second group.
    pub n: (f64, f64),
}

/// Sun's scores of pooled rows, one for each; `None` if no row is usable. Rows that are not
/// usable score 0.
///
/// Sun 1996 (Statistics in Medicine 15:1387), in the form [S(L) log S̃(L) − S(R) log S̃(R)] /
/// [S(L) − S(R)] with S̃ from summed hazards, of Fay & Shaw 2010 (J Stat Softw 36(2), 'logrank1').
#[must_use]
pub fn sun_scores(rows: &[Row]) -> Option<Vec<f64>> {
    let events: Vec<Row> = rows.iter().map(without_losses).collect();
    let steps = steps(&estimate(&events)?.curve);
    Some(
        events
            .iter()
            .map(|row| {
                if row.is_usable() {
                    score(row, &steps)
                } else {
                    0.0
                }
            })
            .collect(),
    )
}

fn without_losses(row: &Row) -> Row {
    match row.event() {
        Some(Outcome::Lost) if row.is_usable() => Row::not_yet(row.left, row.weight),
        _ => *row,
    }
}

/// After each support interval: its end, S, and the summed hazard.
fn steps(curve: &[Mass]) -> Vec<(f64, f64, f64)> {
    let (mut reached, mut hazard) = (0.0, 0.0);
    let step = |m: &Mass| {
        // Rounding must not lift a hazard above certainty.
        hazard += (m.mass / (1.0 - reached)).min(1.0);
        reached += m.mass;
        (m.by, (1.0 - reached).max(0.0), hazard)
    };
    curve.iter().map(step).collect()
}

fn score(row: &Row, steps: &[(f64, f64, f64)]) -> f64 {
    let at = |t: f64| {
        let past = steps.partition_point(|step| step.0 <= t);
        past.checked_sub(1)
            .map_or((1.0, 0.0), |last| (steps[last].1, steps[last].2))
    };
    let (left, left_hazard) = at(row.left);
    if row.event().is_none() {
        return -left_hazard;
    }
    let (right, right_hazard) = at(row.right);
    (right * right_hazard - left * left_hazard) / (left - right)
}

/// Compares two groups within strata: each has its own curve and scores, their sums, expectations and
/// variances add up. `None` if no stratum can be compared.
#[must_use]
pub fn log_rank_within(strata: &[[Vec<Row>; 2]]) -> Option<LogRank> {
    let (mut u, mut expected, mut variance) = (0.0, 0.0, 0.0);
    let mut n = (0.0, 0.0);
    for part in strata.iter().filter_map(scored) {
        u += part.u;
        expected += part.expected;
        variance += part.variance;
        n = (n.0 + part.n.0, n.1 + part.n.1);
    }
    let z = (u - expected) / variance.sqrt();
    (variance > 0.0).then(|| LogRank {
        u,
        z,
        p: 2.0 * normal_cdf(-z.abs()),
        n,
    })
}

/// One stratum's sum of the first group's scores with its mean and variance under relabelling.
struct Scored {
    u: f64,
    expected: f64,
    variance: f64,
    n: (f64, f64),
}

fn scored([first, second]: &[Vec<Row>; 2]) -> Option<Scored> {
    let pooled: Vec<Row> = first.iter().chain(second).copied().collect();
    let scores = sun_scores(&pooled)?;
    let weigh = |row: &Row| if row.is_usable() { row.weight } else { 0.0 };
    let total = |rows: &[Row]| rows.iter().map(weigh).sum::<f64>();
    let (n1, n2) = (total(first), total(second));
    let n = n1 + n2;
    let scored = || pooled.iter().map(weigh).zip(&scores);
    let mean = scored().map(|(w, c)| w * c).sum::<f64>() / n;
    let squares: f64 = scored().map(|(w, c)| w * (c - mean).powi(2)).sum();
    let u: f64 = scored().take(first.len()).map(|(w, c)| w * c).sum();
    let variance = squares * n1 * n2 / (n * (n - 1.0));
    (n > 1.0 && variance > 1e-18 * n).then_some(Scored {
        u,
        expected: n1 * mean,
        variance,
        n: (n1, n2),
    })
}
