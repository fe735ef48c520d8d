//! What is maximised: a sum of weighted logarithms of range sums, its gradient, and how far from the maximum a point
//! can be. It knows ranges of cells only, not what they stand for.

use crate::stats::logs::{ABREAST, ln};
use crate::stats::wide::{Work, widely};

/// The cells from `start` up to but not including `end`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Range {
    pub(super) start: usize,
    pub(super) end: usize,
}

/// What is to be maximised. No range is empty; between any two neighbouring cells some range
/// starts and some range ends.
#[derive(Debug, Default)]
pub(super) struct Problem {
    pub(super) ranges: Vec<Range>,
    /// How often the sum of each range is observed.
    pub(super) weights: Vec<f64>,
    /// Sum of the weights, n.
    pub(super) total: f64,
    /// One for each cell; used only to order the unknowns of a Newton step.
    pub(super) times: Vec<f64>,
}

/// A point, its likelihood and its gradient.
#[derive(Clone, Default)]
pub(super) struct Point {
    pub(super) masses: Vec<f64>,
    pub(super) loglik: f64,
    /// Slope of the log-likelihood in the mass of each cell. At the maximum it is n where there is mass, and at most n elsewhere.
    pub(super) gradient: Vec<f64>,
    /// Probability of each range.
    pub(super) sums: Vec<f64>,
    pub(super) gap: f64,
    /// By range: its weight over its probability.
    pub(super) pulls: Vec<f64>,
    /// Running totals of the masses, as unevaluated pairs: differences keep full precision.
    pub(super) totals: Vec<(f64, f64)>,
}

impl Point {
    /// Evaluates everything at the masses, after scaling them to sum to 1.
    pub(super) fn evaluate(&mut self, problem: &Problem) {
        self.evaluate_likelihood(problem);
        self.evaluate_gradient(problem);
    }

    /// The cells that hold mass.
    pub(super) fn open(&self) -> impl Iterator<Item = usize> {
        (0..self.masses.len()).filter(|&at| self.masses[at] > 0.0)
    }

    /// Log-likelihood alone; minus infinity where a range has no mass.
    pub(super) fn evaluate_likelihood(&mut self, problem: &Problem) {
        let scale = 1.0 / self.masses.iter().sum::<f64>();
        self.totals.clear();
        self.totals.push((0.0, 0.0));
        let (mut high, mut low) = (0.0_f64, 0.0_f64);
        for mass in &mut self.masses {
            *mass *= scale;
            // Knuth's exact addition: the rounding error is carried along in `low`.
            let sum = high + *mass;
            let part = sum - high;
            low += (high - (sum - part)) + (*mass - part);
            high = sum;
            self.totals.push((high, low));
        }
        let totals = self.totals.as_slice();
        self.sums.clear();
        self.sums.extend(problem.ranges.iter().map(|range| {
            let (a, b) = (totals[range.start], totals[range.end]);
            (b.0 - a.0) + (b.1 - a.1)
        }));
        self.loglik = widely(LogLikelihood {
            sums: &self.sums,
            weights: &problem.weights,
        });
    }

    /// The gradient and the gap, after the likelihood.
    pub(super) fn evaluate_gradient(&mut self, problem: &Problem) {
        let cells = self.masses.len();
        self.gradient.clear();
        self.gradient.resize(cells + 1, 0.0);
        self.pulls.resize(problem.ranges.len(), 0.0);
        widely(Pulls {
            sums: &self.sums,
            weights: &problem.weights,
            pulls: &mut self.pulls,
        });
        for (range, pull) in problem.ranges.iter().zip(&self.pulls) {
            self.gradient[range.start] += pull;
            self.gradient[range.end] -= pull;
        }
        self.gradient.truncate(cells);
        let (mut running, mut most) = (0.0, f64::NEG_INFINITY);
        for slope in &mut self.gradient {
            running += *slope;
            *slope = running;
            most = most.max(running);
        }
        self.gap = if self.loglik.is_finite() {
            (most - problem.total).max(0.0)
        } else {
            f64::INFINITY
        };
    }
}

/// The sum of weighted logarithms; minus infinity where a sum is nothing.
struct LogLikelihood<'a> {
    sums: &'a [f64],
    weights: &'a [f64],
}

impl Work for LogLikelihood<'_> {
    type Output = f64;

    #[inline(always)]
    fn work(self) -> f64 {
        let (sums, rest) = self.sums.as_chunks::<ABREAST>();
        let (weights, rest_weights) = self.weights.as_chunks::<ABREAST>();
        let mut found = [0.0; ABREAST];
        for (sums, weights) in sums.iter().zip(weights) {
            for lane in 0..ABREAST {
                found[lane] += weights[lane] * ln(sums[lane]);
            }
        }
        let (mut sums, mut weights) = ([1.0; ABREAST], [0.0; ABREAST]);
        for (lane, (sum, weight)) in rest.iter().zip(rest_weights).enumerate().take(ABREAST) {
            (sums[lane], weights[lane]) = (*sum, *weight);
        }
        for lane in 0..ABREAST {
            found[lane] += weights[lane] * ln(sums[lane]);
        }
        found.iter().sum()
    }
}

/// Each weight over its sum.
struct Pulls<'a> {
    sums: &'a [f64],
    weights: &'a [f64],
    pulls: &'a mut [f64],
}

impl Work for Pulls<'_> {
    type Output = ();

    #[inline(always)]
    fn work(self) {
        let each = self.sums.iter().zip(self.weights);
        for (pull, (sum, weight)) in self.pulls.iter_mut().zip(each) {
            *pull = weight / sum;
        }
    }
}
