//! Draws from distributions, by a seeded source of uniform numbers. It knows no batch.

use crate::stats::dice::Dice;

/// The numbers 0, 1, 2, … with their chances, to draw from.
#[derive(Clone, Debug)]
pub(super) struct Cumulative(Vec<f64>);

impl Cumulative {
    /// From chances that need not sum to 1.
    pub fn new(chances: impl Iterator<Item = f64>) -> Self {
        let mut sum = 0.0;
        let sums: Vec<f64> = chances
            .map(|c| {
                sum += c;
                sum
            })
            .collect();
        Self(sums)
    }

    /// The number that a uniform draw from 0 to 1 picks.
    pub fn at(&self, unit: f64) -> usize {
        let whole = self.0.last().copied().unwrap_or(0.0);
        let place = self.0.partition_point(|sum| *sum < unit * whole);
        place.min(self.0.len().saturating_sub(1))
    }
}

/// A standard normal draw (Box & Muller 1958, *Annals of Mathematical Statistics* 29:610).
pub(super) fn normal(dice: &mut Dice) -> f64 {
    let radius = (-2.0 * (1.0 - dice.unit()).ln()).sqrt();
    radius * (std::f64::consts::TAU * dice.unit()).cos()
}

/// A gamma draw of shape `a` ≥ 1 by the cube-root normal approximation (Wilson & Hilferty 1931, *Proceedings of the
/// National Academy of Sciences* 17:684).
fn gamma(a: f64, dice: &mut Dice) -> f64 {
    let ninth = 1.0 / (9.0 * a);
    let root = 1.0 - ninth + normal(dice) * ninth.sqrt();
    a * root.max(0.0).powi(3)
}

/// A beta draw as a ratio of gamma draws.
pub(super) fn beta(a: f64, b: f64, dice: &mut Dice) -> f64 {
    let (x, y) = (gamma(a, dice), gamma(b, dice));
    x / (x + y).max(1e-12)
}

/// A binomial draw; by the normal approximation where `n` is large.
pub(super) fn binomial(n: u32, p: f64, dice: &mut Dice) -> u32 {
    if n > 40 && p > 0.05 && p < 0.95 {
        let n = f64::from(n);
        let draw = n * p + normal(dice) * (n * p * (1.0 - p)).sqrt();
        return draw.round().clamp(0.0, n) as u32;
    }
    (0..n).map(|_| u32::from(dice.unit() < p)).sum()
}
