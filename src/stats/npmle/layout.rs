//! Rows laid out as ranges of cells that can carry mass, on one folded axis, under any weights. It estimates nothing.
//!
//! A cell of an outcome is a maximal intersection of the intervals that allow it: its own event intervals and every *not
//! yet* row. One more cell, *later*, lies beyond all finite ends; it is needed only if no finite cell lies within every
//! *not yet* row (that cell would do at least as well). The cells are laid out as: reached in order of time, later, lost
//! in reverse order. On this axis a *not yet* row covers one unbroken range around *later*, so that two outcomes become a
//! problem of one dimension.

use super::face::Face;
use super::likelihood::{Point, Problem, Range};
use super::rows::{Estimate, Mass, Outcome, Row};

/// One end of the interval within which a row allows an outcome.
#[derive(Debug, Clone, Copy)]
struct End {
    time: f64,
    opens: bool,
    row: usize,
}

/// Rows with the ends of their intervals in order of time.
#[derive(Debug)]
pub(super) struct RowLayout {
    rows: Vec<Row>,
    reached: Vec<End>,
    lost: Vec<End>,
}

/// The cells before a row's interval, and those up to its end.
#[derive(Debug, Clone, Copy, Default)]
struct Span {
    first: usize,
    past: usize,
}

impl RowLayout {
    pub(super) fn new(rows: &[Row]) -> Self {
        Self {
            reached: ends(rows, Outcome::Reached),
            lost: ends(rows, Outcome::Lost),
            rows: rows.to_vec(),
        }
    }

    /// The rows laid out.
    pub(super) fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// The problem under these weights; `None` if no row that says anything has any.
    pub(super) fn fold(&self, weights: &[f64]) -> Option<Folded> {
        let weight = |row: usize| weights.get(row).copied().unwrap_or(0.0);
        let mut spans = vec![[Span::default(); 2]; self.rows.len()];
        let reached = cells(&self.reached, &weight, (&mut spans, 0));
        let lost = cells(&self.lost, &weight, (&mut spans, 1));
        let used = self.rows.iter().enumerate();
        let used = used.filter(|(at, row)| weight(*at) > 0.0 && row.is_placed());
        let (mut last_wait, mut last_event) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for (_, row) in used.clone() {
            match row.event() {
                None => last_wait = last_wait.max(row.left),
                Some(_) => last_event = last_event.max(row.right),
            }
        }
        let tau = last_wait.max(last_event);
        if tau == f64::NEG_INFINITY {
            return None;
        }
        let has_later = last_wait > f64::NEG_INFINITY && last_wait >= last_event;
        let cells = reached.len() + usize::from(has_later) + lost.len();
        let mut placed: Vec<(usize, usize, usize)> = used
            .map(|(at, row)| {
                let [ahead, back] = spans[at];
                match row.event() {
                    Some(Outcome::Reached) => (ahead.first, ahead.past, at),
                    Some(Outcome::Lost) => (cells - back.past, cells - back.first, at),
                    None => (ahead.first, cells - back.first, at),
                }
            })
            .collect();
        // By row among equal ranges, so that their weights are one sum.
        placed.sort_unstable();
        let mut ranges: Vec<Range> = Vec::with_capacity(placed.len());
        for &(start, end, at) in &placed {
            match ranges.last_mut() {
                Some(last) if (last.start, last.end) == (start, end) => last.weight += weight(at),
                _ => ranges.push(Range {
                    start,
                    end,
                    weight: weight(at),
                }),
            }
        }
        let later = has_later.then_some(f64::INFINITY);
        let ahead = reached.iter().map(|cell| cell.1).chain(later);
        Some(Folded {
            problem: Problem {
                total: ranges.iter().map(|r| r.weight).sum(),
                times: ahead.chain(lost.iter().rev().map(|cell| cell.1)).collect(),
                ranges,
            },
            placed,
            reached,
            lost,
            has_later,
            tau,
        })
    }
}

/// The ends of all intervals that allow an outcome.
fn ends(rows: &[Row], outcome: Outcome) -> Vec<End> {
    let mut ends = Vec::with_capacity(2 * rows.len());
    let mut add = |time, opens, row| ends.push(End { time, opens, row });
    for (at, row) in rows.iter().enumerate().filter(|(_, row)| row.is_placed()) {
        match row.event() {
            Some(seen) if seen != outcome => {}
            Some(_) => {
                add(row.left, true, at);
                add(row.right, false, at);
            }
            None => add(row.left, true, at),
        }
    }
    // At equal times a closed right end comes before an open left end.
    ends.sort_by(|a, b| a.time.total_cmp(&b.time).then(a.opens.cmp(&b.opens)));
    ends
}

/// Maximal intersections for one outcome, as (after, by], in order of time: where an end that closes follows one that
/// opens. Notes for each row which of them lie within it, in its span of that `outcome`.
fn cells(
    ends: &[End],
    weight: &impl Fn(usize) -> f64,
    (spans, outcome): (&mut [[Span; 2]], usize),
) -> Vec<(f64, f64)> {
    let mut cells = Vec::new();
    let mut opened = None;
    for end in ends.iter().filter(|end| weight(end.row) > 0.0) {
        if end.opens {
            opened = Some(end.time);
            spans[end.row][outcome].first = cells.len();
        } else {
            if let Some(after) = opened.take() {
                cells.push((after, end.time));
            }
            spans[end.row][outcome].past = cells.len();
        }
    }
    cells
}

/// What a cell is opened with where another estimate left a range empty.
const LITTLE: f64 = 1e-3;

/// The problem on the folded axis, and the cells to unfold its solution.
pub(super) struct Folded {
    pub(super) problem: Problem,
    /// The range of each row that counts: its start, its end, the number of the row.
    placed: Vec<(usize, usize, usize)>,
    reached: Vec<(f64, f64)>,
    lost: Vec<(f64, f64)>,
    has_later: bool,
    /// The largest finite end of any row.
    pub(super) tau: f64,
}

impl Folded {
    /// The masses of another estimate, each in the cell that holds it or the next one on, and a little in the middle of
    /// ranges that would have none. The other cells are shut until something opens them.
    pub(super) fn masses_near(&self, near: &Estimate) -> Vec<f64> {
        let cells = self.problem.times.len();
        let mut out = vec![0.0; cells];
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
        for range in &self.problem.ranges {
            if out[range.start..range.end].iter().all(|mass| *mass <= 0.0) {
                out[(range.start + range.end) / 2] = LITTLE;
            }
        }
        out
    }

    /// By how much the share reached by each of these days changes with the weight of each of `rows`, at the maximum, whose
    /// masses `near` has; by day and row, nothing where there is nothing to change.
    pub(super) fn slopes(&self, near: &Estimate, days: &[f64], rows: usize) -> Vec<Vec<f64>> {
        let mut here = Point {
            masses: self.masses_near(near),
            ..Point::default()
        };
        here.evaluate(&self.problem);
        let open: Vec<usize> = here.open().collect();
        let Some(face) = Face::new(&here, &self.problem, &open, usize::MAX) else {
            return vec![vec![0.0; rows]; days.len()];
        };
        let range = |&(start, end, _): &(usize, usize, usize)| {
            let (a, b) = (here.totals[start], here.totals[end]);
            (start, end, (b.0 - a.0) + (b.1 - a.1))
        };
        let ranges: Vec<(usize, usize, f64)> = self.placed.iter().map(range).collect();
        let of_day = |day: &f64| {
            let cell = self.reached.partition_point(|(_, by)| by <= day);
            let mut out = vec![0.0; rows];
            for ((_, _, row), slope) in self.placed.iter().zip(face.slopes(cell, &ranges)) {
                out[*row] = slope;
            }
            out
        };
        days.iter().map(of_day).collect()
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
