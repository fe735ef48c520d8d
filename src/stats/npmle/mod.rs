//! Joint maximum-likelihood estimate for interval-censored times with two competing outcomes, and the days and shares
//! read off its curve. It must not know what the outcomes are, nor draw a conclusion from them.

use axis::Axis;
use layout::RowLayout;
use std::cmp::Ordering;
use std::sync::OnceLock;

mod abreast;
mod axis;
mod face;
mod layout;
mod likelihood;
mod net;
mod rows;
mod solve;

pub use rows::{Estimate, Mass, Outcome, Row};

/// The joint nonparametric maximum-likelihood estimate over (interval, outcome):
/// Hudgens, Satten & Longini 2001, Biometrics 57:74. Without `Lost` rows it is Turnbull's
/// (1976, JRSS B 38:290), with exact days Aalen–Johansen's, with both Kaplan–Meier's.
///
/// `None` when no row is usable. The order of rows does not change a bit of the result. Where
/// the likelihood leaves the masses undetermined (Gentleman & Geyer 1994) one maximiser is
/// returned. A maximum that could not be certified shows in `gap`.
#[must_use]
pub fn estimate(rows: &[Row]) -> Option<Estimate> {
    let rows = merged(rows);
    let weights: Vec<f64> = rows.iter().map(|row| row.weight).collect();
    Reweighed::new(&rows).estimate(&weights, None)
}

/// Rows whose estimate is sought under many weights, as when replicates are resampled or left out in turn: what their
/// places settle is worked out once.
#[derive(Debug)]
pub struct Reweighed {
    layout: RowLayout,
    /// For weights that are worked on side by side, once there are some.
    axis: OnceLock<Axis>,
}

impl Reweighed {
    /// Of these rows, whatever they weigh; those that say nothing never count.
    #[must_use]
    pub fn new(rows: &[Row]) -> Self {
        Self {
            layout: RowLayout::new(rows),
            axis: OnceLock::new(),
        }
    }

    /// The estimate with these weights, row by row; sought from `near` if there is one.
    #[must_use]
    pub fn estimate(&self, weights: &[f64], near: Option<&Estimate>) -> Option<Estimate> {
        let folded = self.layout.fold(weights)?;
        let start = near.map(|near| folded.masses_near(near));
        let solution = solve::maximise(&folded.problem, start);
        let (curve, lost, later) = folded.unfold(&solution.masses);
        Some(Estimate {
            curve,
            lost,
            later,
            tau: folded.tau,
            n: folded.problem.total,
            loglik: solution.loglik,
            gap: solution.gap,
            iterations: solution.iterations,
        })
    }

    /// By how much the share reached by each of these days changes with the weight of each row, at the `estimate` of these
    /// weights: the influence of rows (Jaeckel 1972; Efron 1982, *The Jackknife, the Bootstrap and Other Resampling Plans*,
    /// chapter 6). By day, then row by row.
    #[must_use]
    pub fn slopes(&self, weights: &[f64], estimate: &Estimate, days: &[f64]) -> Vec<Vec<f64>> {
        let folded = self.layout.fold(weights);
        let slopes = folded.map(|it| it.slopes(estimate, days, weights.len()));
        slopes.unwrap_or_default()
    }

    /// The curves under each of these weights, none where no row counts: as those of [`Self::estimate`], certified alike,
    /// and sought side by side.
    #[must_use]
    pub fn curves(&self, weights: &[Vec<f64>], near: &Estimate) -> Vec<Option<Vec<Mass>>> {
        self.within(weights, near, Estimate::CERTIFIED)
    }

    /// As [`Self::curves`], but none has a log-likelihood more than 1e-4 below the greatest, and their days are read by
    /// [`resampled_quantile`].
    #[must_use]
    pub fn resample(&self, weights: &[Vec<f64>], near: &Estimate) -> Vec<Option<Vec<Mass>>> {
        self.within(weights, near, RESAMPLED_GAP)
    }

    fn within(&self, weights: &[Vec<f64>], near: &Estimate, gap: f64) -> Vec<Option<Vec<Mass>>> {
        let axis = self.axis.get_or_init(|| Axis::new(self.layout.rows()));
        let curves = abreast::curves(axis, weights, near, gap);
        let alone = |weights: &Vec<f64>| self.estimate(weights, Some(near)).map(|it| it.curve);
        let each = curves.into_iter().zip(weights);
        each.map(|(curve, weights)| curve.or_else(|| alone(weights)))
            .collect()
    }
}

/// Usable rows in a fixed order, identical ones merged.
fn merged(rows: &[Row]) -> Vec<Row> {
    let mut kept: Vec<Row> = rows.iter().filter(|r| r.is_usable()).map(tidied).collect();
    kept.sort_unstable_by(|a, b| by_place(a, b).then(a.weight.total_cmp(&b.weight)));
    kept.dedup_by(|row, before| {
        let same = by_place(row, before) == Ordering::Equal;
        if same {
            before.weight += row.weight;
        }
        same
    });
    kept
}

/// One spelling for each observation: negative zero and the several ways to say *not yet*.
fn tidied(row: &Row) -> Row {
    match row.event() {
        Some(_) => Row {
            left: row.left + 0.0,
            right: row.right + 0.0,
            ..*row
        },
        None => Row::not_yet(row.left + 0.0, row.weight),
    }
}

/// The order in which rows are added up: by their ends, then by outcome.
#[must_use]
pub fn by_place(a: &Row, b: &Row) -> Ordering {
    let times = a.left.total_cmp(&b.left).then(a.right.total_cmp(&b.right));
    times.then(a.outcome.cmp(&b.outcome))
}

/// So far the log-likelihood of a resample's curve may be from the greatest: few of its days hang on more.
const RESAMPLED_GAP: f64 = 1e-4;

/// Slack when a cumulative mass is compared with a quantile's share.
const SLACK: f64 = 1e-9;

/// The same for the curve of a resample, whose masses are less close: a share that is reached exactly must not be missed.
const RESAMPLED_SLACK: f64 = 1e-6;

/// Whose days: of all units, or of those that reached the event by the end of the curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Among {
    /// All units; a quantile above the share that reached does not exist.
    All,
    /// Those that reached: masses are divided by their sum.
    Reached,
}

/// A quantile of the days: known to lie in (`after`, `by`], and put at `at` by a straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantile {
    /// Lower end of the support interval, in days.
    pub after: f64,
    /// Upper end of the support interval, in days.
    pub by: f64,
    /// Linear inside the interval, in days.
    pub at: f64,
}

/// The first support interval whose cumulative mass is at least `q` (0 to 1), less 1e-9.
///
/// `curve` is in order of time. `None` if so large a share never reached the event.
#[must_use]
pub fn quantile(curve: &[Mass], q: f64, among: Among) -> Option<Quantile> {
    first_with(curve, q, among, SLACK)
}

/// As [`quantile`], of a curve by [`Reweighed::resample`]: less 1e-6.
#[must_use]
pub fn resampled_quantile(curve: &[Mass], q: f64, among: Among) -> Option<Quantile> {
    first_with(curve, q, among, RESAMPLED_SLACK)
}

fn first_with(curve: &[Mass], q: f64, among: Among, slack: f64) -> Option<Quantile> {
    let whole = match among {
        Among::All => 1.0,
        Among::Reached => curve.iter().map(|m| m.mass).sum(),
    };
    let wanted = q * whole;
    let mut before = 0.0;
    for &Mass { after, by, mass } in curve {
        if before + mass >= wanted - slack * whole {
            let part = ((wanted - before) / mass).clamp(0.0, 1.0);
            return Some(Quantile {
                after,
                by,
                at: after + (by - after) * part,
            });
        }
        before += mass;
    }
    None
}

/// Share that reached the event by day `t`, linear inside each support interval.
#[must_use]
pub fn reached_by(curve: &[Mass], t: f64) -> f64 {
    curve.iter().map(|m| m.mass * part_by(m, t)).sum()
}

/// How much of a mass lies at or before `t`, 0 to 1.
fn part_by(mass: &Mass, t: f64) -> f64 {
    ((t - mass.after) / (mass.by - mass.after)).clamp(0.0, 1.0)
}
