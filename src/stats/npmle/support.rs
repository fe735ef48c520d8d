//! From rows to cells that can carry mass, on one folded axis. It must not estimate anything.
//!
//! A cell of an outcome is a maximal intersection of the intervals that allow it: its own event
//! intervals and every *not yet* row. One more cell, *later*, lies beyond all finite ends; it is
//! needed only if no finite cell lies within every *not yet* row (that cell would do at least
//! as well). The cells are laid out as: reached in order of time, later, lost in reverse order.
//! On this axis a *not yet* row covers one unbroken range around *later*, so that two outcomes
//! become a problem of one dimension.

use super::solve::{Problem, Range};
use super::{Mass, Outcome, Row};
use std::cmp::Ordering;

/// The problem on the folded axis, and the cells to unfold its solution.
pub(super) struct Folded {
    pub(super) problem: Problem,
    reached: Vec<(f64, f64)>,
    lost: Vec<(f64, f64)>,
    has_later: bool,
}

/// Usable rows in a fixed order, identical ones merged.
pub(super) fn merged(rows: &[Row]) -> Vec<Row> {
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
pub(super) fn fold(rows: &[Row]) -> Folded {
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
    pub(super) fn masses_near(&self, near: &super::Estimate) -> Vec<f64> {
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
    pub(super) fn unfold(&self, masses: &[f64]) -> (Vec<Mass>, Vec<Mass>, f64) {
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
