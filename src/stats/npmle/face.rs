//! Newton steps among the cells that hold mass. It opens no cell; it may close some.
//!
//! The unknowns are the running totals between cells with mass. A range touches at most two of
//! them, so the Hessian is sparse; taken in order of time it lies close to its diagonal, and a
//! Cholesky factor within that envelope stays cheap however many cells are open.

use super::likelihood::{Point, Problem};
use crate::stats::products;

/// Steps in one visit.
const STEPS: usize = 8;
/// Multiplications in one factorisation, for each range and visit so far, above which a visit is
/// left out: the cheaper moves first close most cells.
const WORK: usize = 100;

/// Less of the gap than this is not worth a step.
const ALMOST: f64 = 1e-3;

/// Takes Newton steps until they no longer help. With an `enough` they also end once the gap is no more than that, or
/// almost all of it lies at shut cells, of which they know nothing.
pub(super) fn newton_steps(
    here: &mut Point,
    spare: &mut Point,
    problem: &Problem,
    (visit, enough): (u32, Option<f64>),
) {
    let work = WORK * problem.ranges.len() * visit as usize;
    for _ in 0..STEPS {
        let open: Vec<usize> = (0..here.masses.len())
            .filter(|&j| here.masses[j] > 0.0)
            .collect();
        let Some(change) = direction(here, problem, &open, work) else {
            return;
        };
        let before = here.gap;
        let closed = try_clipped(here, spare, problem, (&open, &change));
        if !closed && !try_shortened(here, spare, problem, (&open, &change)) {
            return;
        }
        let level = open
            .iter()
            .map(|&j| (here.gradient[j] - problem.total).abs() * here.masses[j]);
        let level = level.fold(0.0, f64::max);
        let is_enough = enough.is_some_and(|gap| here.gap <= gap || level < ALMOST * here.gap);
        if level < 1e-13 * problem.total || here.gap == before || is_enough {
            return;
        }
    }
}

/// The full step, with masses that would fall below zero closed.
fn try_clipped(
    here: &mut Point,
    spare: &mut Point,
    problem: &Problem,
    (open, change): (&[usize], &[f64]),
) -> bool {
    spare.masses.clone_from(&here.masses);
    for (&j, by) in open.iter().zip(change) {
        spare.masses[j] = (here.masses[j] + by).max(0.0);
    }
    adopt(here, spare, problem)
}

/// The longest part of the step that stays within bounds, halved until it helps.
fn try_shortened(
    here: &mut Point,
    spare: &mut Point,
    problem: &Problem,
    (open, change): (&[usize], &[f64]),
) -> bool {
    let falling = open.iter().zip(change).filter(|(_, by)| **by < 0.0);
    let mut step = falling
        .map(|(&j, by)| here.masses[j] / -by)
        .fold(1.0, f64::min);
    for _ in 0..20 {
        spare.masses.clone_from(&here.masses);
        for (&j, by) in open.iter().zip(change) {
            let mass = here.masses[j] + step * by;
            spare.masses[j] = if mass > here.masses[j] * 1e-12 {
                mass
            } else {
                0.0
            };
        }
        if adopt(here, spare, problem) {
            return true;
        }
        step *= 0.5;
    }
    false
}

/// Moves to the new point if its likelihood is no lower, but for rounding.
fn adopt(here: &mut Point, spare: &mut Point, problem: &Problem) -> bool {
    spare.evaluate_likelihood(problem);
    let rounding = 1e-14 * (here.loglik.abs() + problem.total);
    let better = spare.loglik > here.loglik - rounding;
    if better {
        spare.evaluate_gradient(problem);
        std::mem::swap(here, spare);
    }
    better
}

/// The change of each open cell's mass in a full Newton step; `None` if there is nothing to
/// solve or it would cost too much.
fn direction(here: &Point, problem: &Problem, open: &[usize], work: usize) -> Option<Vec<f64>> {
    let unknowns = open.len().checked_sub(1).filter(|&k| k > 0)?;
    // Unknown v lies between the open cells v and v + 1; `place` is its rank in time.
    let order = by_time(unknowns, |v| {
        problem.times[open[v]].min(problem.times[open[v + 1]])
    });
    let mut place = vec![0; unknowns];
    for (rank, &v) in order.iter().enumerate() {
        place[v] = rank;
    }
    let mut hessian = Envelope::new(&pairs(here, problem, open, &place), (unknowns, work))?;
    let slope = |v: usize| here.gradient[open[v]] - here.gradient[open[v + 1]];
    let mut solution: Vec<f64> = order.iter().map(|&v| slope(v)).collect();
    hessian.solve(&mut solution);
    let total = |v: Option<usize>| v.and_then(|v| place.get(v)).map_or(0.0, |&r| solution[r]);
    Some(
        (0..open.len())
            .map(|c| total(Some(c)) - total(c.checked_sub(1)))
            .collect(),
    )
}

/// The unknowns in order of time, which rises along the folded axis up to some place and falls from there on.
fn by_time(unknowns: usize, time: impl Fn(usize) -> f64) -> Vec<usize> {
    let falls = (1..unknowns).find(|&v| time(v) < time(v - 1));
    let middle = falls.unwrap_or(unknowns);
    let (mut ahead, mut back) = (0, unknowns);
    let mut order = Vec::with_capacity(unknowns);
    while order.len() < unknowns {
        if back == middle || ahead < middle && time(ahead) <= time(back - 1) {
            order.push(ahead);
            ahead += 1;
        } else {
            back -= 1;
            order.push(back);
        }
    }
    order
}

/// For each range: the ranks of the unknowns at its two ends, where there are any, and its
/// curvature.
fn pairs(
    here: &Point,
    problem: &Problem,
    open: &[usize],
    place: &[usize],
) -> Vec<(Option<usize>, Option<usize>, f64)> {
    // How many open cells lie before each cell.
    let mut before = vec![0; here.masses.len() + 1];
    for &j in open {
        before[j + 1] = 1;
    }
    for j in 1..before.len() {
        before[j] += before[j - 1];
    }
    let rank = |cell: usize| {
        let count: usize = before[cell];
        count.checked_sub(1).and_then(|v| place.get(v)).copied()
    };
    let ranges = problem.ranges.iter().zip(&here.sums);
    ranges
        .map(|(r, sum)| (rank(r.start), rank(r.end), r.weight / (sum * sum)))
        .collect()
}

/// A symmetric matrix, each row stored from its first entry to the diagonal.
struct Envelope {
    first: Vec<usize>,
    /// Where each row's diagonal sits in `values`.
    diagonal: Vec<usize>,
    values: Vec<f64>,
}

impl Envelope {
    /// Filled from the ends and curvatures of ranges; `None` if factoring would exceed `limit`.
    fn new(
        pairs: &[(Option<usize>, Option<usize>, f64)],
        (size, limit): (usize, usize),
    ) -> Option<Self> {
        let mut first: Vec<usize> = (0..size).collect();
        for &(a, b, _) in pairs {
            if let (Some(a), Some(b)) = (a, b) {
                first[a.max(b)] = first[a.max(b)].min(a.min(b));
            }
        }
        let work = first
            .iter()
            .enumerate()
            .map(|(row, f)| (row - f + 1) * (row - f + 1));
        if work.sum::<usize>() > limit {
            return None;
        }
        let mut diagonal = Vec::with_capacity(size);
        let mut end = 0;
        for (row, start) in first.iter().enumerate() {
            end += row - start + 1;
            diagonal.push(end - 1);
        }
        let mut matrix = Self {
            first,
            diagonal,
            values: vec![0.0; end],
        };
        for &(a, b, curvature) in pairs {
            for row in [a, b].into_iter().flatten() {
                matrix.values[matrix.diagonal[row]] += curvature;
            }
            if let (Some(a), Some(b)) = (a, b) {
                let (row, column) = (a.max(b), a.min(b));
                matrix.values[matrix.diagonal[row] - (row - column)] -= curvature;
            }
        }
        Some(matrix)
    }

    /// Row `row` from its first entry up to, not including, the diagonal.
    fn span(&self, row: usize) -> std::ops::Range<usize> {
        self.diagonal[row] - (row - self.first[row])..self.diagonal[row]
    }

    /// Solves in place: Cholesky within the envelope (Jennings 1966). A pivot lost to rounding,
    /// as when the masses are not determined, is replaced so that its unknown stays put.
    fn solve(&mut self, right: &mut [f64]) {
        let size = right.len();
        for row in 0..size {
            for column in self.first[row]..row {
                let shared = self.first[row].max(self.first[column]);
                let at = self.diagonal[row] - (row - column);
                let above = &self.values[at - (column - shared)..at];
                let to = self.diagonal[column];
                let left = &self.values[to - (column - shared)..to];
                let dot = products::sum(above, left);
                self.values[at] = (self.values[at] - dot) / self.values[to];
            }
            let ahead = &self.values[self.span(row)];
            let norm = products::sum(ahead, ahead);
            let whole = self.values[self.diagonal[row]];
            let rest = whole - norm;
            let lost = rest <= 1e-14 * whole;
            self.values[self.diagonal[row]] = if lost {
                1e8 * whole.sqrt()
            } else {
                rest.sqrt()
            };
        }
        for row in 0..size {
            let ahead = &self.values[self.span(row)];
            let known = products::sum(ahead, &right[self.first[row]..row]);
            right[row] = (right[row] - known) / self.values[self.diagonal[row]];
        }
        for row in (0..size).rev() {
            right[row] /= self.values[self.diagonal[row]];
            let value = right[row];
            let span = self.span(row);
            for (entry, a) in right[self.first[row]..row]
                .iter_mut()
                .zip(&self.values[span])
            {
                *entry -= a * value;
            }
        }
    }
}
