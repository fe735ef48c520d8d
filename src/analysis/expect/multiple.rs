//! A later day as a multiple of the middle day of rooting, pooled over groups; the mean and spread that it comes to; and
//! draws from its distributions. It forecasts no batch.

use super::groups::Groups;
use crate::stats::dice::Dice;
use crate::stats::pooled::{LogSum, Pooled, by_leaf, half_normal};
use crate::stats::pooling::{Direction, Grid, PriorSettings, Spot, Spreads, weights};

/// ln of a day over the batch's middle day of rooting.
pub(super) const RATIOS: Grid = Grid {
    low: -0.8,
    step: 0.06,
    len: 67,
};
/// Spreads between batches of a group that are tried.
const BETWEEN: [f64; 5] = [0.06, 0.12, 0.2, 0.35, 0.6];
/// Spreads between groups that are tried.
const SPREADS: Spreads<'static> = Spreads {
    tried: &[0.03, 0.1, 0.25, 0.5],
    scale: 0.4,
};

/// A later day as a multiple of the batch's middle day of rooting, in logarithms, pooled over groups.
#[derive(Clone, Debug)]
pub(super) struct Multiple(Pooled);

impl Multiple {
    /// Learns from batches: leaf, and ln of the day over the middle day of rooting. `guess`: middle and spread of
    /// the logarithm without history (common practice).
    pub fn learn(groups: &Groups, days: &[(usize, f64)], guess: (f64, f64)) -> Self {
        // Sums of squares around a mean say all that the batches of a leaf do.
        let mut leaves = vec![(0.0, 0.0, 0.0); groups.len()];
        for &(leaf, day) in days {
            let (count, mean, squares) = &mut leaves[leaf];
            let apart: f64 = day - *mean;
            *count += 1.0;
            *mean += apart / *count;
            *squares += apart * (day - *mean);
        }
        let mut said = |start: usize| {
            let between = BETWEEN[start];
            let leaf = |(count, mean, squares): &(f64, f64, f64)| {
                let at = |x: f64| {
                    let apart = count * (x - mean).powi(2) + squares;
                    -0.5 * apart / between.powi(2) - count * between.ln()
                };
                RATIOS.points().map(at).collect()
            };
            leaves.iter().map(leaf).collect()
        };
        Self::pooled(groups, guess, &mut said)
    }

    /// Learns from batches, each with its leaf and the log-likelihood of its ratio on the grid.
    pub fn learn_curves(groups: &Groups, curves: &[(usize, Vec<f64>)], guess: (f64, f64)) -> Self {
        let bells = BETWEEN.map(|between| RATIOS.bell(between));
        let likely = |(_, curve): &(usize, Vec<f64>)| {
            let height = curve.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (height, weights(curve))
        };
        let likely: Vec<(f64, Vec<f64>)> = curves.iter().map(likely).collect();
        let mut said = |start: usize| {
            let sum = |units: &[usize]| {
                let mut sum = LogSum::new(RATIOS.len);
                for &unit in units {
                    let (height, weights) = &likely[unit];
                    sum.add(*height, &bells[start].spread(weights, Direction::Up));
                }
                sum.sums()
            };
            by_leaf(curves.iter().map(|unit| unit.0), groups.len(), sum)
        };
        Self::pooled(groups, guess, &mut said)
    }

    fn pooled(
        groups: &Groups,
        guess: (f64, f64),
        said: &mut dyn FnMut(usize) -> Vec<Vec<f64>>,
    ) -> Self {
        let before = PriorSettings {
            starts: &half_normal(&BETWEEN, SPREADS.scale),
            row: BETWEEN.len(),
            spreads: &SPREADS,
            root: &RATIOS.normal(guess.0, guess.1),
        };
        Self(Pooled::learn(&groups.tree, RATIOS, &before, said))
    }

    /// Points and chances of the logarithm for a batch at a spot.
    pub fn prior(&self, spot: Spot) -> Vec<(f64, f64)> {
        let chances = self.0.around(spot, &BETWEEN);
        RATIOS.points().zip(chances).collect()
    }

    /// Middle and spreads of the logarithm of a batch at a spot.
    pub fn moments(&self, spot: Spot) -> Moments {
        let each = self.0.by_start(spot, None).map(|(start, mean)| {
            (
                BETWEEN[start],
                RATIOS.points().zip(mean).collect::<Vec<_>>(),
            )
        });
        Moments::gathered(each)
    }

    /// A multiple at a spot, to draw from.
    pub fn draws(&self, spot: Spot) -> MultipleDraws {
        let points = self.prior(spot);
        let sums = Cumulative::new(points.iter().map(|p| p.1));
        MultipleDraws { points, sums }
    }
}

/// Multiples of the middle day of rooting, to draw from.
#[derive(Clone, Debug)]
pub(super) struct MultipleDraws {
    points: Vec<(f64, f64)>,
    sums: Cumulative,
}

impl MultipleDraws {
    /// The multiple that two numbers in 0 to 1 stand for: one picks the point, one the place around it.
    pub fn draw(&self, pick: f64, place: f64) -> f64 {
        (self.points[self.sums.at(pick)].0 + RATIOS.step * (place - 0.5)).exp()
    }
}

/// Middle and spreads of a number that differs between the batches of a group.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Moments {
    /// The group's middle, as a mean over what it may be.
    pub mean: f64,
    /// The variance of what the group's middle may be.
    pub shared: f64,
    /// The variance between batches of the group.
    pub between: f64,
}

impl Moments {
    /// From the chances of the group's middle under each spread between batches; all chances together sum to 1.
    pub fn gathered(each: impl Iterator<Item = (f64, Vec<(f64, f64)>)>) -> Self {
        let (mut whole, mut sum, mut square, mut between) = (0.0, 0.0, 0.0, 0.0);
        for (spread, points) in each {
            for (value, weight) in points {
                whole += weight;
                sum += weight * value;
                square += weight * value * value;
                between += weight * spread * spread;
            }
        }
        let whole = f64::max(whole, 1e-12);
        let mean = sum / whole;
        Self {
            mean,
            shared: (square / whole - mean * mean).max(0.0),
            between: between / whole,
        }
    }
}

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
