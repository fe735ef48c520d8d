//! What is maximised: a sum of weighted logarithms of range sums, its gradient, and how far from the maximum a point
//! can be. It knows ranges of cells only, not what they stand for.

/// The sum of the cells from `start` up to but not including `end` is observed `weight` times.
#[derive(Debug, Clone, Copy)]
pub(super) struct Range {
    pub(super) start: usize,
    pub(super) end: usize,
    pub(super) weight: f64,
}

/// What is to be maximised. No range is empty; between any two neighbouring cells some range
/// starts and some range ends.
#[derive(Debug, Default)]
pub(super) struct Problem {
    pub(super) ranges: Vec<Range>,
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
        self.sums.clear();
        self.loglik = 0.0;
        for range in &problem.ranges {
            let (a, b) = (self.totals[range.start], self.totals[range.end]);
            let sum = (b.0 - a.0) + (b.1 - a.1);
            self.sums.push(sum);
            self.loglik += range.weight * sum.max(0.0).ln();
        }
    }

    /// The gradient and the gap, after the likelihood.
    pub(super) fn evaluate_gradient(&mut self, problem: &Problem) {
        let cells = self.masses.len();
        self.gradient.clear();
        self.gradient.resize(cells + 1, 0.0);
        for (range, sum) in problem.ranges.iter().zip(&self.sums) {
            let pull = range.weight / sum;
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
