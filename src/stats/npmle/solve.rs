//! Maximises a sum of weighted logarithms of range sums over the simplex, with a certificate.
//! It knows ranges of cells only, not what they stand for.
//!
//! Three moves in turn, each of which never lowers the likelihood: one step of the EM algorithm;
//! one of the iterative convex minorant (Groeneboom & Wellner 1992; alternated with EM as Wellner &
//! Zhan 1997, JASA 92:945), which opens and closes many cells at once; and Newton steps among the
//! cells with mass (`face`), which finish fast once the right cells are open. From a near start a few rounds of the first
//! two find most of these; then few are the wrong ones, and those that the gradient asks for are opened instead (Wang 2007,
//! JRSS B 69:185).

use super::face;
use super::likelihood::{Point, Problem};

/// Masses that sum to 1, and how far they can be from the maximum.
pub(super) struct Solution {
    pub(super) masses: Vec<f64>,
    pub(super) loglik: f64,
    pub(super) gap: f64,
    pub(super) iterations: u32,
}

/// Where an estimate stops that is to be certified: a hundredth of what counts as that.
const GAP: f64 = 1e-10;
/// No gap below this part of all units can be told from rounding.
const ROUNDING: f64 = 1e-14;
/// So many visits from a near start before the slower moves are tried again.
const NEAR_VISITS: u32 = 12;
/// So many rounds of the slower moves, which take many cells at once, begin from a near start.
const NEAR_ROUNDS: u32 = 4;
/// What a cell is opened with, for the next Newton steps to weigh.
const OPENED: f64 = 1e-5;
const ITERATIONS: u32 = 400;
/// Cells below this mass are closed at the end if the certificate survives it.
const DUST: f64 = 1e-9;

/// The masses that maximise the likelihood, sought from `start` (no range without mass), where the cells
/// that hold mass are mostly the right ones, else from equal masses.
pub(super) fn maximise(problem: &Problem, start: Option<Vec<f64>>) -> Solution {
    let cells = problem.times.len();
    let gap = GAP.max(ROUNDING * problem.total);
    let near_visits = start.as_ref().map_or(0, |_| NEAR_VISITS);
    let enough = start.as_ref().map(|_| gap);
    let mut here = Point {
        masses: start.unwrap_or_else(|| vec![1.0; cells]),
        ..Point::default()
    };
    here.evaluate(problem);
    let mut best = here.clone();
    let mut spare = Point::default();
    let mut iterations = 0;
    if enough.is_some() {
        for _ in 0..NEAR_ROUNDS {
            expectation_step(&mut here, problem);
            minorant_step(&mut here, &mut spare, problem);
        }
        best.clone_from(&here);
    }
    while best.gap > gap && iterations < ITERATIONS {
        iterations += 1;
        if iterations > near_visits {
            expectation_step(&mut here, problem);
            minorant_step(&mut here, &mut spare, problem);
        } else if iterations > 1 {
            open_tops(&mut here, problem);
        }
        face::newton_steps(&mut here, &mut spare, problem, (iterations, enough));
        if here.gap < best.gap {
            best.clone_from(&here);
        }
    }
    sweep(&mut best, problem, gap);
    Solution {
        masses: best.masses,
        loglik: best.loglik,
        gap: best.gap,
        iterations,
    }
}

/// Opens the shut cells where the gradient is highest around and most above n.
fn open_tops(here: &mut Point, problem: &Problem) {
    let slope = |at: usize| here.gradient.get(at).copied().unwrap_or(f64::NEG_INFINITY);
    let least = problem.total + 0.1 * here.gap;
    let is_top = |at: &usize| {
        let before = at.checked_sub(1).map_or(f64::NEG_INFINITY, slope);
        slope(*at) > least && slope(*at) >= before && slope(*at) > slope(at + 1)
    };
    let shut = (0..here.masses.len()).filter(|&at| here.masses[at] <= 0.0);
    let tops: Vec<usize> = shut.filter(is_top).collect();
    for at in tops {
        here.masses[at] = OPENED;
    }
    here.evaluate(problem);
}

/// One step of EM: each mass times its gradient over n.
fn expectation_step(here: &mut Point, problem: &Problem) {
    for (mass, slope) in here.masses.iter_mut().zip(&here.gradient) {
        *mass *= slope / problem.total;
    }
    here.evaluate(problem);
}

/// One step of the iterative convex minorant on the running totals, with a halving line search.
fn minorant_step(here: &mut Point, spare: &mut Point, problem: &Problem) {
    let target = minorant(here, problem);
    let mut step = 1.0;
    for _ in 0..30 {
        let mixed = here
            .masses
            .iter()
            .zip(&target)
            .map(|(old, new)| old + step * (new - old));
        spare.masses.clear();
        spare.masses.extend(mixed.map(|mass| mass.max(0.0)));
        spare.evaluate_likelihood(problem);
        if spare.loglik > here.loglik {
            spare.evaluate_gradient(problem);
            std::mem::swap(here, spare);
            return;
        }
        step *= 0.5;
    }
}

/// Masses whose running totals are the weighted isotonic regression of a diagonal Newton step.
fn minorant(here: &Point, problem: &Problem) -> Vec<f64> {
    let cells = here.masses.len();
    let mut weights = vec![0.0; cells + 1];
    for (range, sum) in problem.ranges.iter().zip(&here.sums) {
        let curvature = range.weight / (sum * sum);
        weights[range.start] += curvature;
        weights[range.end] += curvature;
    }
    // Blocks of equal value: (value, weight, how many totals).
    let mut blocks: Vec<(f64, f64, usize)> = Vec::with_capacity(cells);
    let inner = here.totals.iter().zip(&weights).skip(1);
    for ((total, &weight), slopes) in inner.zip(here.gradient.windows(2)) {
        let mut block = (total.0 + (slopes[0] - slopes[1]) / weight, weight, 1);
        while let Some(&before) = blocks.last().filter(|before| before.0 >= block.0) {
            blocks.pop();
            let weight = before.1 + block.1;
            let value = (before.0 * before.1 + block.0 * block.1) / weight;
            block = (value, weight, before.2 + block.2);
        }
        blocks.push(block);
    }
    let mut masses = vec![0.0; cells];
    let (mut last, mut cell) = (0.0, 0);
    for (value, _, count) in blocks {
        let value = value.clamp(0.0, 1.0);
        masses[cell] = value - last;
        (last, cell) = (value, cell + count);
    }
    masses[cell] = 1.0 - last;
    masses
}

/// Closes cells that hold next to nothing, if the certificate stands without them.
fn sweep(best: &mut Point, problem: &Problem, gap: f64) {
    let mut swept = best.clone();
    for mass in swept.masses.iter_mut().filter(|mass| **mass < DUST) {
        *mass = 0.0;
    }
    swept.evaluate(problem);
    if swept.gap <= best.gap.max(gap) {
        *best = swept;
    }
}
