//! All cells that can carry mass under any weights of some rows, on one folded axis: what is the same for all resamples of
//! them. It estimates nothing.
//!
//! A cell is known by the day on which it ends, which is the end of some event's interval: whatever rows weigh, each
//! maximal intersection ends on another. So every row covers the same cells under all weights, and what weights settle is
//! which cells there are, and when each begins. The axis is folded as in `layout`: reached in order of time, later, lost in
//! reverse order.

use super::net::NetShape;
use super::rows::{Outcome, Row};

/// One end of the interval within which a row allows an outcome.
#[derive(Debug, Clone, Copy)]
pub(super) struct End {
    pub(super) day: f64,
    pub(super) row: usize,
    /// The cell that ends here; none where an interval begins.
    pub(super) cell: Option<usize>,
}

/// What a difference of two running totals ties together: the totals at both ends of the axis are fixed.
#[derive(Debug, Clone, Copy)]
pub(super) enum Tie {
    /// Two totals, by a spring.
    Spring(usize),
    /// One total to a fixed one.
    Ground(usize),
    /// Two fixed ones.
    Fixed,
}

/// From one running total to another.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    pub(super) start: usize,
    pub(super) end: usize,
    pub(super) tie: Tie,
}

/// The rows and their cells.
#[derive(Debug)]
pub(super) struct Axis {
    pub(super) rows: Vec<Row>,
    /// The days on which cells of each outcome end.
    pub(super) reached: Vec<f64>,
    pub(super) lost: Vec<f64>,
    /// The cells within each row.
    pub(super) ranges: Vec<Span>,
    pub(super) cells: Vec<Span>,
    /// The ends of all intervals of each outcome, in order of time.
    pub(super) ends: [Vec<End>; 2],
    /// How the inner running totals hang together: that before cell `v` is node `v - 1`.
    pub(super) totals: NetShape,
}

impl Axis {
    /// Of rows of which those that make no sense never weigh anything.
    pub(super) fn new(rows: &[Row]) -> Self {
        let days = |outcome| {
            let ended = rows.iter().filter(|row| row.event() == Some(outcome));
            let mut days: Vec<f64> = ended.map(|row| row.right).collect();
            days.sort_by(f64::total_cmp);
            days.dedup();
            days
        };
        let (reached, lost) = (days(Outcome::Reached), days(Outcome::Lost));
        let cells = reached.len() + 1 + lost.len();
        let by = |days: &[f64], day: f64| days.partition_point(|end| *end <= day);
        let range = |row: &Row| match row.event() {
            Some(Outcome::Reached) => (by(&reached, row.left), by(&reached, row.right)),
            Some(Outcome::Lost) => (cells - by(&lost, row.right), cells - by(&lost, row.left)),
            None => (by(&reached, row.left), cells - by(&lost, row.left)),
        };
        let ranges: Vec<(usize, usize)> = rows.iter().map(range).collect();
        let each: Vec<(usize, usize)> = (0..cells).map(|cell| (cell, cell + 1)).collect();
        let inner = |total: usize| total.checked_sub(1).filter(|node| *node + 1 < cells);
        let pairs = ranges.iter().chain(&each);
        let pairs = pairs.filter_map(|&(a, b)| Some((inner(a)?, inner(b)?)));
        let totals = NetShape::new(cells - 1, pairs);
        let span = |&(start, end): &(usize, usize)| Span {
            start,
            end,
            tie: match (inner(start), inner(end)) {
                (Some(a), Some(b)) => Tie::Spring(totals.spring(a, b)),
                (Some(a), None) | (None, Some(a)) => Tie::Ground(totals.rank(a)),
                (None, None) => Tie::Fixed,
            },
        };
        Self {
            ends: [
                ends(rows, Outcome::Reached, |day| by(&reached, day) - 1),
                ends(rows, Outcome::Lost, |day| cells - by(&lost, day)),
            ],
            ranges: ranges.iter().map(span).collect(),
            cells: each.iter().map(span).collect(),
            rows: rows.to_vec(),
            reached,
            lost,
            totals,
        }
    }

    /// The cell beyond all ends.
    pub(super) fn later(&self) -> usize {
        self.reached.len()
    }
}

/// The ends of all intervals that allow an outcome; `cell` tells which ends on a day.
fn ends(rows: &[Row], outcome: Outcome, cell: impl Fn(f64) -> usize) -> Vec<End> {
    let mut ends = Vec::with_capacity(2 * rows.len());
    let mut add = |day, row, cell| ends.push(End { day, row, cell });
    for (at, row) in rows.iter().enumerate() {
        match row.event() {
            Some(seen) if seen != outcome => {}
            Some(_) => {
                add(row.left, at, None);
                add(row.right, at, Some(cell(row.right)));
            }
            None => add(row.left, at, None),
        }
    }
    // At equal times a closed right end comes before an open left end.
    ends.sort_by(|a, b| {
        let times = a.day.total_cmp(&b.day);
        times.then(a.cell.is_none().cmp(&b.cell.is_none()))
    });
    ends
}
