//! Effects that cut across a tree of groups, such as those of years: all units of one class are shifted by a common
//! deviation of unknown spread. It must not know what is shifted, nor how the tree was pooled.
//!
//! A class's shift is normal around 0; the spread of shifts is integrated over a coarse grid with a half-normal prior
//! (Gelman 2006, *Bayesian Analysis* 1:515). Each unit brings the log-likelihood of its class's shift, what all other
//! units say of its group's mean held fixed.

use std::ops::Range;

/// What is believed of shifts before any unit is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShiftPrior {
    /// The width of one step of shift.
    pub step: f64,
    /// Shifts of so many steps are tried either way.
    pub reach: usize,
    /// Spreads of shifts that are tried, ascending; about equally far apart in their logarithm.
    pub spreads: &'static [f64],
    /// Scale of the spread's half-normal prior.
    pub scale: f64,
}

impl ShiftPrior {
    /// How many shifts are tried.
    #[must_use]
    pub fn count(&self) -> usize {
        2 * self.reach + 1
    }

    /// The chances of the shifts under one spread.
    fn normal(&self, spread: f64) -> Vec<f64> {
        let at = |place: usize| {
            let shift = self.step * (place as f64 - self.reach as f64);
            (-0.5 * (shift / spread.max(1e-9)).powi(2)).exp()
        };
        scaled((0..self.count()).map(at).collect())
    }
}

/// The shifts of classes, as learnt.
#[derive(Debug, Clone)]
pub struct ClassShifts {
    prior: ShiftPrior,
    /// The chance of each spread tried, with the chances of the shifts under it.
    spreads: Vec<(f64, Vec<f64>)>,
    /// By class: the sum of its units' log-likelihoods.
    classes: Vec<Vec<f64>>,
    /// By unit: its class and its log-likelihood.
    units: Vec<(usize, Vec<f64>)>,
}

impl ClassShifts {
    /// Learns from units, each with its class (below `classes`) and the log-likelihood of each shift.
    #[must_use]
    pub fn learn(prior: ShiftPrior, classes: usize, units: Vec<(usize, Vec<f64>)>) -> Self {
        let mut sums = vec![vec![0.0; prior.count()]; classes];
        for (class, logs) in &units {
            sums[*class].iter_mut().zip(logs).for_each(|(s, l)| *s += l);
        }
        let spreads = prior.spreads.iter();
        let normals: Vec<Vec<f64>> = spreads.map(|&spread| prior.normal(spread)).collect();
        let height = |(&spread, normal): (&f64, &Vec<f64>)| {
            let each = sums.iter().map(|logs| log_mean(normal, logs));
            let before = spread.ln() - 0.5 * (spread / prior.scale).powi(2);
            each.sum::<f64>() + before
        };
        let heights: Vec<f64> = prior.spreads.iter().zip(&normals).map(height).collect();
        Self {
            spreads: scaled(exp(&heights)).into_iter().zip(normals).collect(),
            classes: sums,
            units,
            prior,
        }
    }

    /// The chances of the shifts of a class, from the lowest; of a class of which nothing is known if none is named.
    /// `without`: a unit whose own word is left out.
    #[must_use]
    pub fn chances(&self, class: Option<usize>, without: Option<usize>) -> Vec<f64> {
        let mut logs = class
            .and_then(|class| self.classes.get(class).cloned())
            .unwrap_or_else(|| vec![0.0; self.prior.count()]);
        if let Some((of, own)) = without.and_then(|unit| self.units.get(unit))
            && Some(*of) == class
        {
            logs.iter_mut().zip(own).for_each(|(l, o)| *l -= o);
        }
        let said = exp(&logs);
        let mut sum = vec![0.0; self.prior.count()];
        for (weight, normal) in &self.spreads {
            let joint = normal.iter().zip(&said);
            let chances = scaled(joint.map(|(a, b)| a * b).collect());
            sum.iter_mut()
                .zip(chances)
                .for_each(|(s, c)| *s += weight * c);
        }
        scaled(sum)
    }

    /// Mean and variance of the shift of a class.
    #[must_use]
    pub fn moments(&self, class: Option<usize>) -> (f64, f64) {
        let chances = self.chances(class, None);
        let value = |at: usize| self.prior.step * (at as f64 - self.prior.reach as f64);
        let mean: f64 = chances
            .iter()
            .enumerate()
            .map(|(at, c)| c * value(at))
            .sum();
        let each = chances.iter().enumerate();
        let variance = each.map(|(at, c)| c * (value(at) - mean).powi(2)).sum();
        (mean, variance)
    }

    /// What is believed before anything is seen.
    #[must_use]
    pub fn prior(&self) -> ShiftPrior {
        self.prior
    }
}

/// Chances on a grid, each moved by shifts with their chances; what would leave the grid stays at its end.
#[must_use]
pub fn blended(values: &[f64], shifts: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; values.len()];
    let (reach, last) = (shifts.len() / 2, values.len().saturating_sub(1));
    for (by, chance) in shifts.iter().enumerate().filter(|(_, c)| **c > 1e-6) {
        let Moved { within, first } = Moved::new(values.len(), (by, reach), values.len());
        for value in &values[..within.start] {
            out[0] += chance * value;
        }
        let each = out[first..].iter_mut().zip(&values[within.clone()]);
        each.for_each(|(out, value)| *out += chance * value);
        for value in &values[within.end..] {
            out[last] += chance * value;
        }
    }
    out
}

/// The log-likelihood of each shift: `prior` chances moved by it, weighed by a likelihood (not its logarithm).
#[must_use]
pub fn likelihoods(prior: &[f64], likelihood: &[f64], reach: usize) -> Vec<f64> {
    let mut sums = vec![0.0; 2 * reach + 1];
    let [lowest, highest] = [likelihood.first(), likelihood.last()].map(|it| it.unwrap_or(&0.0));
    for (by, chance) in prior.iter().enumerate() {
        let Moved { within, first } = Moved::new(sums.len(), (by, reach), likelihood.len());
        for sum in &mut sums[..within.start] {
            *sum += chance * lowest;
        }
        let each = sums[within.clone()].iter_mut().zip(&likelihood[first..]);
        each.for_each(|(sum, likelihood)| *sum += chance * likelihood);
        for sum in &mut sums[within.end..] {
            *sum += chance * highest;
        }
    }
    sums.into_iter().map(|sum| sum.max(1e-280).ln()).collect()
}

/// Places in a row, all moved alike onto a list.
struct Moved {
    /// Those that stay within it; what comes before would leave it at its start, what comes after at its end.
    within: Range<usize>,
    /// Where the first of them comes to stand.
    first: usize,
}

impl Moved {
    /// So many places, moved on by one number less the other, onto a list of this length.
    fn new(places: usize, (on, back): (usize, usize), length: usize) -> Self {
        let start = back.saturating_sub(on).min(places);
        let end = (length + back).saturating_sub(on).clamp(start, places);
        Self {
            within: start..end,
            first: (start + on).saturating_sub(back).min(length),
        }
    }
}

fn exp(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    logs.iter().map(|log| (log - top).exp()).collect()
}

fn log_mean(chances: &[f64], logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = chances
        .iter()
        .zip(logs)
        .map(|(c, l)| c * (l - top).exp())
        .sum();
    top + sum.max(1e-280).ln()
}

fn scaled(mut weights: Vec<f64>) -> Vec<f64> {
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 {
        weights.iter_mut().for_each(|w| *w /= sum);
    }
    weights
}
