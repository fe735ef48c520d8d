//! A later day as a multiple of the middle day of rooting, pooled over groups. It forecasts no batch.

use super::draws::Cumulative;
use super::groups::Groups;
use super::moments::Moments;
use crate::stats::pooled::{Pooled, half_normal};
use crate::stats::pooling::{Before, Grid, Spot, Spreads, Way};

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
        let says = |start: usize, unit: usize| {
            let between = BETWEEN[start];
            let logs = RATIOS.normal(days[unit].1, between).into_iter();
            logs.map(|log| log - between.ln()).collect()
        };
        Self::pooled(
            groups,
            days.iter().map(|unit| unit.0).collect(),
            guess,
            &says,
        )
    }

    /// The same from batches each with its leaf and the log-likelihood of its ratio on the grid.
    pub fn learn_curves(groups: &Groups, curves: &[(usize, Vec<f64>)], guess: (f64, f64)) -> Self {
        let bells = BETWEEN.map(|between| RATIOS.bell(between));
        let says = |start: usize, unit: usize| {
            let curve = &curves[unit].1;
            let height = curve.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let weights: Vec<f64> = curve.iter().map(|log| (log - height).exp()).collect();
            let up = bells[start].spread(&weights, Way::Up).into_iter();
            up.map(|w| w.max(1e-280).ln()).collect()
        };
        Self::pooled(
            groups,
            curves.iter().map(|unit| unit.0).collect(),
            guess,
            &says,
        )
    }

    fn pooled(
        groups: &Groups,
        leaves: Vec<usize>,
        guess: (f64, f64),
        says: &dyn Fn(usize, usize) -> Vec<f64>,
    ) -> Self {
        let before = Before {
            starts: &half_normal(&BETWEEN, SPREADS.scale),
            row: BETWEEN.len(),
            spreads: &SPREADS,
            root: &RATIOS.normal(guess.0, guess.1),
        };
        Self(Pooled::learn(&groups.tree, RATIOS, &leaves, &before, says))
    }

    /// Points and chances of the logarithm for a batch at a spot.
    pub fn prior(&self, spot: Spot) -> Vec<(f64, f64)> {
        let chances = self.0.around(spot, None, &BETWEEN);
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
