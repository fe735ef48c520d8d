//! Joint maximum-likelihood estimate for interval-censored times with two competing outcomes, and the days and shares
//! read off its curve. It must not know what the outcomes are, nor draw a conclusion from them.
//!
//! Rows become cells that can carry mass, on one folded axis. A cell of an outcome is a maximal intersection of the
//! intervals that allow it: its own event intervals and every *not yet* row. One more cell, *later*, lies beyond all
//! finite ends; it is needed only if no finite cell lies within every *not yet* row (that cell would do at least as
//! well). The cells are laid out as: reached in order of time, later, lost in reverse order. On this axis a *not yet*
//! row covers one unbroken range around *later*, so that two outcomes become a problem of one dimension.

use likelihood::{Problem, Range};
use std::cmp::Ordering;

mod face;
mod likelihood;
mod solve;

/// Which of the two competing outcomes ended the wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// The event of interest happened first.
    Reached,
    /// The competing event happened first.
    Lost,
}

/// A weighted observation: `outcome` happened in (`left`, `right`], or nothing had by `left`.
///
/// An infinite `right` or an absent `outcome` means *not yet at `left`*: either outcome may
/// follow. Weights may be fractional.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The last day on which nothing had happened yet.
    pub left: f64,
    /// The day by which it had happened; infinite for *not yet*.
    pub right: f64,
    /// What happened; `None` for *not yet*.
    pub outcome: Option<Outcome>,
    /// How many units this row stands for; rows of no positive weight are ignored.
    pub weight: f64,
}

impl Row {
    /// `weight` units that reached the event in (`left`, `right`].
    #[must_use]
    pub fn reached(left: f64, right: f64, weight: f64) -> Self {
        let outcome = Some(Outcome::Reached);
        Self {
            left,
            right,
            outcome,
            weight,
        }
    }

    /// `weight` units that met the competing event first, in (`left`, `right`].
    #[must_use]
    pub fn lost(left: f64, right: f64, weight: f64) -> Self {
        let outcome = Some(Outcome::Lost);
        Self {
            left,
            right,
            outcome,
            weight,
        }
    }

    /// `weight` units to which nothing had happened by `left`.
    #[must_use]
    pub fn not_yet(left: f64, weight: f64) -> Self {
        Self {
            left,
            right: f64::INFINITY,
            outcome: None,
            weight,
        }
    }

    /// The outcome, if one was seen within finite bounds.
    #[must_use]
    pub fn event(&self) -> Option<Outcome> {
        self.outcome.filter(|_| self.right.is_finite())
    }

    /// Whether the row says anything: finite `left` before `right`, finite positive weight.
    #[must_use]
    pub fn is_usable(&self) -> bool {
        let placed = self.left.is_finite() && (self.event().is_none() || self.left < self.right);
        placed && !self.right.is_nan() && self.weight.is_finite() && self.weight > 0.0
    }
}

/// Probability mass inside a support interval (`after`, `by`]; where inside is not known.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Mass {
    /// Open lower end, in days.
    pub after: f64,
    /// Closed upper end, in days; finite.
    pub by: f64,
    /// Share of all units, above 0 and at most 1.
    pub mass: f64,
}

/// The estimate: three kinds of mass that sum to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Masses of *reached*, in order of time.
    pub curve: Vec<Mass>,
    /// Masses of *lost first*, in order of time.
    pub lost: Vec<Mass>,
    /// Mass beyond the last support interval: watched, neither yet.
    pub later: f64,
    /// The largest finite interval end among the rows, in days.
    pub tau: f64,
    /// Sum of the weights.
    pub n: f64,
    /// Log-likelihood at these masses.
    pub loglik: f64,
    /// n (max gradient / n − 1): no distribution has a log-likelihood above `loglik + gap`.
    pub gap: f64,
    /// Iterations used.
    pub iterations: u32,
}

impl Estimate {
    /// The gap at which the maximum counts as certified.
    pub const CERTIFIED: f64 = 1e-8;

    /// Share that reached the event by `tau`.
    #[must_use]
    pub fn reached(&self) -> f64 {
        self.curve.iter().map(|m| m.mass).sum()
    }
}

/// The joint nonparametric maximum-likelihood estimate over (interval, outcome):
/// Hudgens, Satten & Longini 2001, Biometrics 57:74. Without `Lost` rows it is Turnbull's
/// (1976, JRSS B 38:290), with exact days Aalen–Johansen's, with both Kaplan–Meier's.
///
/// `None` when no row is usable. The order of rows does not change a bit of the result. Where
/// the likelihood leaves the masses undetermined (Gentleman & Geyer 1994) one maximiser is
/// returned. A maximum that could not be certified shows in `gap`.
#[must_use]
pub fn estimate(rows: &[Row]) -> Option<Estimate> {
    from(rows, None, solve::GAP)
}

/// Makes the estimate of [`estimate`], starting from the estimate of similar rows, as when rows are resampled. It is found
/// sooner and to the same certificate.
#[must_use]
pub fn estimate_near(rows: &[Row], near: &Estimate) -> Option<Estimate> {
    from(rows, Some(near), solve::GAP)
}

/// As [`estimate_near`], but stopping once no distribution has a log-likelihood higher by more than `gap`.
#[must_use]
pub fn estimate_within(rows: &[Row], near: &Estimate, gap: f64) -> Option<Estimate> {
    from(rows, Some(near), gap)
}

fn from(rows: &[Row], near: Option<&Estimate>, gap: f64) -> Option<Estimate> {
    let rows = merged(rows);
    let (first, rest) = rows.split_first()?;
    let end = |row: &Row| {
        if row.event().is_some() {
            row.right
        } else {
            row.left
        }
    };
    let tau = rest.iter().map(end).fold(end(first), f64::max);
    let folded = fold(&rows);
    let start = near.map(|near| folded.masses_near(near));
    let solution = solve::maximise(&folded.problem, start, gap);
    let (curve, lost, later) = folded.unfold(&solution.masses);
    Some(Estimate {
        curve,
        lost,
        later,
        tau,
        n: folded.problem.total,
        loglik: solution.loglik,
        gap: solution.gap,
        iterations: solution.iterations,
    })
}

/// The problem on the folded axis, and the cells to unfold its solution.
struct Folded {
    problem: Problem,
    reached: Vec<(f64, f64)>,
    lost: Vec<(f64, f64)>,
    has_later: bool,
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

fn by_place(a: &Row, b: &Row) -> Ordering {
    let times = a.left.total_cmp(&b.left).then(a.right.total_cmp(&b.right));
    times.then(a.outcome.cmp(&b.outcome))
}

/// Lays out the cells and turns each row into a range of them.
fn fold(rows: &[Row]) -> Folded {
    let reached = cells(rows, Outcome::Reached);
    let lost = cells(rows, Outcome::Lost);
    let last_wait = fold_max(rows.iter().filter(|r| r.event().is_none()).map(|r| r.left));
    let last_event = fold_max(rows.iter().filter(|r| r.event().is_some()).map(|r| r.right));
    let has_later = last_wait > f64::NEG_INFINITY && last_wait >= last_event;
    let mut folded = Folded {
        problem: Problem::default(),
        reached,
        lost,
        has_later,
    };
    let mut ranges: Vec<Range> = rows.iter().map(|row| folded.range(row)).collect();
    // Stable, so that equal ranges keep the order of the rows and their weights one sum.
    ranges.sort_by_key(|r| (r.start, r.end));
    ranges.dedup_by(|range, before| {
        let same = (range.start, range.end) == (before.start, before.end);
        if same {
            before.weight += range.weight;
        }
        same
    });
    folded.problem = Problem {
        total: ranges.iter().map(|r| r.weight).sum(),
        times: folded.times(),
        ranges,
    };
    folded
}

fn fold_max(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::NEG_INFINITY, f64::max)
}

/// Maximal intersections for one outcome, as (after, by], in order of time.
fn cells(rows: &[Row], outcome: Outcome) -> Vec<(f64, f64)> {
    // At equal times a closed right end comes before an open left end.
    let mut ends: Vec<(f64, bool)> = Vec::new();
    for row in rows {
        match row.event() {
            Some(seen) if seen == outcome => ends.extend([(row.left, true), (row.right, false)]),
            Some(_) => {}
            None => ends.push((row.left, true)),
        }
    }
    ends.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let pairs = ends.iter().zip(ends.iter().skip(1));
    pairs
        .filter(|(a, b)| a.1 && !b.1)
        .map(|(a, b)| (a.0, b.0))
        .collect()
}

impl Folded {
    fn range(&self, row: &Row) -> Range {
        let first = |cells: &[(f64, f64)]| cells.partition_point(|c| c.0 < row.left);
        let past = |cells: &[(f64, f64)]| cells.partition_point(|c| c.1 <= row.right);
        let cells = self.reached.len() + usize::from(self.has_later) + self.lost.len();
        let (start, end) = match row.event() {
            Some(Outcome::Reached) => (first(&self.reached), past(&self.reached)),
            Some(Outcome::Lost) => (cells - past(&self.lost), cells - first(&self.lost)),
            None => (first(&self.reached), cells - first(&self.lost)),
        };
        Range {
            start,
            end,
            weight: row.weight,
        }
    }

    /// A time for each cell, so that neighbours in time can be kept close when solving.
    fn times(&self) -> Vec<f64> {
        let later = self.has_later.then_some(f64::INFINITY);
        let ahead = self.reached.iter().map(|c| c.1).chain(later);
        ahead.chain(self.lost.iter().rev().map(|c| c.1)).collect()
    }

    /// The masses of another estimate, each in the cell that holds it or the next one on; every
    /// cell gets a little, so that none is shut.
    fn masses_near(&self, near: &Estimate) -> Vec<f64> {
        let cells = self.problem.times.len();
        let mut out = vec![1e-3 / cells as f64; cells];
        let find = |list: &[(f64, f64)], mass: &Mass| {
            let at = list.partition_point(|cell| cell.1 < mass.by);
            at.min(list.len().saturating_sub(1))
        };
        for mass in near.curve.iter().filter(|_| !self.reached.is_empty()) {
            out[find(&self.reached, mass)] += mass.mass;
        }
        for mass in near.lost.iter().filter(|_| !self.lost.is_empty()) {
            out[cells - 1 - find(&self.lost, mass)] += mass.mass;
        }
        if self.has_later {
            out[self.reached.len()] += near.later;
        }
        out
    }

    /// Masses of reached, of lost and of later; cells without mass are left out.
    fn unfold(&self, masses: &[f64]) -> (Vec<Mass>, Vec<Mass>, f64) {
        let with = |(&(after, by), &mass): (&(f64, f64), &f64)| Mass { after, by, mass };
        let (ahead, rest) = masses.split_at(self.reached.len());
        let (later, back) = rest.split_at(usize::from(self.has_later));
        let mut reached: Vec<Mass> = self.reached.iter().zip(ahead).map(with).collect();
        let mut lost: Vec<Mass> = self.lost.iter().zip(back.iter().rev()).map(with).collect();
        reached.retain(|m| m.mass > 0.0);
        lost.retain(|m| m.mass > 0.0);
        (reached, lost, later.first().copied().unwrap_or(0.0))
    }
}

/// Slack when a cumulative mass is compared with a quantile's share.
const SLACK: f64 = 1e-9;

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
    let whole = match among {
        Among::All => 1.0,
        Among::Reached => curve.iter().map(|m| m.mass).sum(),
    };
    let wanted = q * whole;
    let mut before = 0.0;
    for &Mass { after, by, mass } in curve {
        if before + mass >= wanted - SLACK * whole {
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
