//! What a batch stuck anew would do: plants through the whole ladder, and the day. It plans nothing.
//!
//! Given its group's mean share and correlation, a batch's count is beta-binomial; through potting and to the plant
//! ready for sale the share is the product of three batch-level shares, taken as beta with the product's mean
//! and variance. The mean itself is not known for sure, so chances are averaged over what it may be: batches
//! of one plan are independent only given that mean.

use super::batch::when;
use super::growth::Growth;
use super::{DayForecast, Model};
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::stats::counts::BetaBinomial;
use crate::stats::counts::Discrete;
use crate::stats::dice::Dice;
use crate::stats::plan::over_clusters;
use crate::stats::pooling::Spot;
use crate::stats::special::normal_cdf;

/// The group's mean share is taken at so many points, of about the same chance.
const POINTS: usize = 16;
/// Beyond so many cuttings the count is taken as normal.
const MANY: u32 = 1500;
/// Draws of days.
const DRAWS: usize = 2000;

/// How far the journal knows the way of a cutting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rung {
    /// To the rooted cutting.
    Rooted,
    /// To the young plant in its pot.
    Potted,
    /// To the plant ready for sale.
    Ready,
}

/// The shares that batches of a group may have, to the last rung known.
#[derive(Clone, Debug)]
pub struct Ladder {
    /// To which rung.
    pub rung: Rung,
    points: Vec<(f64, BetaBinomial)>,
}

impl Ladder {
    /// The share expected.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.points.iter().map(|(w, model)| w * model.mu()).sum()
    }

    /// The points of the group's mean, each with its chance: for simulation.
    #[must_use]
    pub fn points(&self) -> &[(f64, BetaBinomial)] {
        &self.points
    }

    /// The chance that at least so many cuttings of batches of these sizes get to the last rung.
    pub fn tail(&self, sizes: &[u32]) -> impl Fn(u32) -> f64 + use<> {
        let points = self.points.iter();
        let counts: Vec<(f64, Count)> = points
            .map(|(weight, model)| (*weight, Count::of(*model, sizes)))
            .collect();
        move |wanted| {
            let parts = counts.iter();
            parts
                .map(|(weight, count)| weight * count.at_least(wanted))
                .sum()
        }
    }
}

/// How many of all batches together get to the last rung, given the group's mean.
enum Count {
    Exact(Discrete),
    Normal { mean: f64, spread: f64 },
}

impl Count {
    fn of(model: BetaBinomial, sizes: &[u32]) -> Self {
        let whole: u32 = sizes.iter().sum();
        if whole <= MANY {
            return Self::Exact(over_clusters(model, sizes));
        }
        let variance: f64 = sizes.iter().map(|&n| model.variance(n)).sum();
        Self::Normal {
            mean: f64::from(whole) * model.mu(),
            spread: variance.sqrt().max(1e-9),
        }
    }

    fn at_least(&self, wanted: u32) -> f64 {
        match self {
            Self::Exact(counts) => counts.at_least(wanted as usize),
            Self::Normal { mean, spread } => normal_cdf((mean - f64::from(wanted) + 0.5) / spread),
        }
    }
}

/// The beta-binomial of a product of shares: its mean and mean square are the products'.
fn product(parts: &[(f64, f64)]) -> Option<BetaBinomial> {
    let mean: f64 = parts.iter().map(|p| p.0).product();
    let square: f64 = parts.iter().map(|p| p.1).product();
    let rho = ((square - mean * mean) / (mean * (1.0 - mean)).max(1e-12)).clamp(0.0, 1.0);
    BetaBinomial::new(mean.clamp(0.0, 1.0), rho).ok()
}

impl Model {
    /// To which rung the journal knows the way.
    #[must_use]
    pub fn rung(&self) -> Rung {
        match self.growth.told {
            [_, ready] if ready > 0 => Rung::Ready,
            [potted, _] if potted > 0 => Rung::Potted,
            _ => Rung::Rooted,
        }
    }

    /// Mean and mean square of the steps beyond rooting, as far as they are known.
    fn beyond(&self, spot: Spot) -> Vec<(f64, f64)> {
        let steps = [&self.growth.potted, &self.growth.ready];
        let known = steps
            .into_iter()
            .zip(self.growth.told)
            .filter(|(_, told)| *told > 0);
        known.map(|(shares, _)| shares.moments(spot)).collect()
    }

    /// Cuttings stuck anew of a taxon and wood stage, up the ladder.
    #[must_use]
    pub fn ladder(&self, taxon: &Taxon, wood: Option<Wood>) -> Ladder {
        let spot = self.groups.spot(taxon, wood);
        let beyond = self.beyond(spot);
        let mut kinds = self.shares.kinds(spot);
        kinds.sort_by(|a, b| a.mean.total_cmp(&b.mean));
        let whole: f64 = kinds.iter().map(|kind| kind.weight).sum();
        let mut points: Vec<(f64, BetaBinomial)> = Vec::new();
        let (mut weight, mut mean, mut square) = (0.0, 0.0, 0.0);
        for (at, kind) in kinds.iter().enumerate() {
            weight += kind.weight;
            mean += kind.weight * kind.mean;
            square += kind.weight * (kind.mean.powi(2) + kind.rho * kind.mean * (1.0 - kind.mean));
            if weight < whole / POINTS as f64 && at + 1 < kinds.len() {
                continue;
            }
            let mut parts = vec![(mean / weight, square / weight)];
            parts.extend(&beyond);
            points.extend(product(&parts).map(|model| (weight / whole, model)));
            (weight, mean, square) = (0.0, 0.0, 0.0);
        }
        Ladder {
            rung: self.rung(),
            points,
        }
    }

    /// Rooted cuttings on their way from the bench, or plants in pots, up the rest of the ladder.
    #[must_use]
    pub fn rest(&self, taxon: &Taxon, wood: Option<Wood>, in_pots: bool) -> Option<BetaBinomial> {
        let beyond = self.beyond(self.groups.spot(taxon, wood));
        product(if in_pots {
            beyond.get(1..).unwrap_or(&[])
        } else {
            &beyond
        })
    }

    /// Days from sticking to the last rung: that of the first plants ready (potted, if none were ever ready).
    #[must_use]
    pub fn days_to_sale(&self, taxon: &Taxon, wood: Option<Wood>) -> Option<DayForecast> {
        let spot = self.groups.spot(taxon, wood);
        let places = self.days.prior(spot, wood, None);
        let sums = super::draws::Cumulative::new(places.iter().copied());
        let multiple = Growth::draws(self.growth.saleable(), spot);
        let mut dice = Dice::new(365);
        let one = |at: usize| {
            let unit = (at as f64 + dice.unit()) / DRAWS as f64;
            let m = self.days.grid.at(sums.at(unit));
            self.days.quantile(0.5, m) * multiple.draw(dice.unit(), dice.unit())
        };
        when((0..DRAWS).map(one).collect())
    }
}
