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
const ALMOST: f64 = 0.1;

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
        let open: Vec<usize> = here.open().collect();
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
    let face = Face::new(here, problem, open, work)?;
    let slope = |v: usize| here.gradient[open[v]] - here.gradient[open[v + 1]];
    let mut solution: Vec<f64> = face.order.iter().map(|&v| slope(v)).collect();
    face.hessian.solve(&mut solution);
    let total = |v: Option<usize>| {
        let rank = v.and_then(|v| face.place.get(v));
        rank.map_or(0.0, |&rank| solution[rank])
    };
    Some(
        (0..open.len())
            .map(|c| total(Some(c)) - total(c.checked_sub(1)))
            .collect(),
    )
}

/// The running totals between the open cells of a point, in order of time, with the curvature of the likelihood in them.
/// Unknown v lies between the open cells v and v + 1.
pub(super) struct Face {
    order: Vec<usize>,
    /// The rank of each unknown in time.
    place: Vec<usize>,
    hessian: Envelope,
    /// How many open cells lie before each cell.
    before: Vec<usize>,
}

impl Face {
    /// `None` if there is nothing to solve or factoring would take more than `work` multiplications.
    pub(super) fn new(
        here: &Point,
        problem: &Problem,
        open: &[usize],
        work: usize,
    ) -> Option<Self> {
        let unknowns = open.len().checked_sub(1).filter(|&k| k > 0)?;
        let order = by_time(unknowns, |v| {
            problem.times[open[v]].min(problem.times[open[v + 1]])
        });
        let mut place = vec![0; unknowns];
        for (rank, &v) in order.iter().enumerate() {
            place[v] = rank;
        }
        let mut before = vec![0; here.masses.len() + 1];
        for &j in open {
            before[j + 1] = 1;
        }
        for j in 1..before.len() {
            before[j] += before[j - 1];
        }
        let mut face = Self {
            order,
            place,
            hessian: Envelope::default(),
            before,
        };
        let ranges = problem.ranges.iter().zip(&here.sums);
        let curved = ranges.map(|(r, sum)| {
            let [start, end] = [r.start, r.end].map(|cell| face.rank(cell));
            (start, end, r.weight / (sum * sum))
        });
        face.hessian = Envelope::new(&curved.collect::<Vec<_>>(), (unknowns, work))?;
        face.hessian.factor();
        Some(face)
    }

    /// The rank of the running total up to a cell; none where it is 0 or 1.
    fn rank(&self, cell: usize) -> Option<usize> {
        let count: usize = self.before[cell];
        count
            .checked_sub(1)
            .and_then(|v| self.place.get(v))
            .copied()
    }

    /// By how much more weight on a range of these ends and this probability changes the running total up to `cell`, at
    /// the maximum: for each range its slope.
    pub(super) fn slopes(&self, cell: usize, ranges: &[(usize, usize, f64)]) -> Vec<f64> {
        let mut solution = vec![0.0; self.place.len()];
        if let Some(rank) = self.rank(cell) {
            solution[rank] = 1.0;
            self.hessian.solve(&mut solution);
        }
        let at = |cell| self.rank(cell).map_or(0.0, |rank| solution[rank]);
        let slope = |&(start, end, sum): &(usize, usize, f64)| (at(end) - at(start)) / sum;
        ranges.iter().map(slope).collect()
    }
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

/// A symmetric matrix, each row stored from its first entry to the diagonal.
#[derive(Default)]
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

    /// Cholesky within the envelope (Jennings 1966). A pivot lost to rounding, as when the masses are not determined, is
    /// replaced so that its unknown stays put.
    fn factor(&mut self) {
        for row in 0..self.first.len() {
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
    }

    /// Solves in place, once factored.
    fn solve(&self, right: &mut [f64]) {
        let size = right.len();
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
