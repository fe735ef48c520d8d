//! What a batch stuck anew would do: plants through the whole ladder, and their days. It plans nothing.
//!
//! Given its group's mean share and correlation, a batch's count is beta-binomial; through potting and to the plant
//! ready for sale the share is the product of three batch-level shares, taken as beta with the product's mean
//! and variance. The mean itself is not known for sure, so chances are averaged over what it may be, its season's shift
//! included: batches of one plan are independent only given that mean. By a day each plant has to be ready by that day:
//! the share is thinned by the part of the batch's plants that are, under what its days may be.

use super::model::Model;
use super::multiple::Moments;
use super::ready::ReadyTimes;
use super::shares::GroupShare;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::stats::counts::BetaBinomial;
use crate::stats::counts::Discrete;
use crate::stats::distributions::normal_cdf;
use crate::stats::pooling::Spot;
use serde::Serialize;

/// The group's mean share is taken at so many points, of about the same chance.
const POINTS: usize = 10;
/// Beyond so many cuttings the count is taken as normal.
const MANY: u32 = 700;
/// Spread between the plants of a batch that are potted together, in ln days (our own rule: within a day or two).
const TOGETHER: f64 = 0.05;

/// How far the journal knows the way of a cutting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rung {
    /// To the rooted cutting.
    Rooted,
    /// To the young plant in its pot.
    Potted,
    /// To the plant ready for sale.
    Ready,
}

/// The shares that batches of a group may have, to the last rung known, and the days of their plants.
#[derive(Clone, Debug)]
pub struct Ladder {
    /// The points of the group's mean, each with its chance.
    pub points: Vec<(f64, BetaBinomial)>,
    times: ReadyTimes,
}

impl Ladder {
    /// The share expected in the end.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.points.iter().map(|(w, model)| w * model.mu()).sum()
    }

    /// The day since sticking by which that part (0 to 1) of all plants that get so far have.
    #[must_use]
    pub fn day_by(&self, part: f64) -> f64 {
        self.times.day_by(part)
    }

    /// The chance that at least so many cuttings of batches of these sizes are at the last rung by a day since sticking,
    /// each by that day; in the end if the day is infinite.
    pub fn tail_by(&self, sizes: &[u32], day: f64) -> impl Fn(u32) -> f64 + use<> {
        let by = self.times.shares_by(day);
        let shared: &[[f64; 5]] = if day.is_infinite() { &by[..1] } else { &by };
        let weight = 1.0 / shared.len() as f64;
        let each = shared.iter().flat_map(|own| {
            let points = self.points.iter();
            points.map(move |(chance, model)| (weight * chance, Count::new(*model, sizes, own)))
        });
        let counts: Vec<(f64, Count)> = each.collect();
        move |wanted| {
            let parts = counts.iter();
            let sum: f64 = parts
                .map(|(weight, count)| weight * count.at_least(wanted))
                .sum();
            sum.min(1.0)
        }
    }
}

/// How many of all batches together get to the last rung, given the group's mean.
enum Count {
    Exact(Discrete),
    Normal { mean: f64, spread: f64 },
}

impl Count {
    /// The count over batches of these sizes. `own` holds, for each equally likely error of a batch's days, the part of its
    /// plants that are there.
    fn new(model: BetaBinomial, sizes: &[u32], own: &[f64; 5]) -> Self {
        let whole: u32 = sizes.iter().sum();
        let thinned: Vec<BetaBinomial> = own.iter().map(|part| thinned(model, *part)).collect();
        let same = own.iter().all(|part| *part == own[0]);
        let nodes = if same { &thinned[..1] } else { &thinned[..] };
        if whole <= MANY || sizes.len() == 1 {
            let mut known: Vec<(u32, Discrete)> = Vec::new();
            let mut sum = Discrete::certain(0);
            for &size in sizes {
                if !known.iter().any(|(of, _)| *of == size) {
                    known.push((size, averaged(nodes, size)));
                }
                if let Some((_, counts)) = known.iter().find(|(of, _)| *of == size) {
                    sum = sum.plus(counts);
                }
            }
            return Self::Exact(sum);
        }
        let parts = nodes.len() as f64;
        let (mut mean, mut variance) = (0.0, 0.0);
        for &size in sizes {
            let n = f64::from(size);
            let one: f64 = nodes.iter().map(|node| n * node.mu()).sum::<f64>() / parts;
            let each = nodes.iter();
            let spread = each.map(|node| node.variance(size) + (n * node.mu() - one).powi(2));
            variance += spread.sum::<f64>() / parts;
            mean += one;
        }
        Self::Normal {
            mean,
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

/// The counts of a batch whose share is one of several, all equally likely.
fn averaged(nodes: &[BetaBinomial], size: u32) -> Discrete {
    let [one] = nodes else {
        let mut sum = vec![0.0; size as usize + 1];
        for node in nodes {
            let counts = node.counts(size);
            sum.iter_mut()
                .zip(counts.chances())
                .for_each(|(s, c)| *s += c);
        }
        return Discrete::from_weights(sum).unwrap_or_else(|| Discrete::certain(0));
    };
    one.counts(size)
}

/// A beta-binomial share of which only a part counts: the beta's first number stays, so that less never makes more
/// likely.
fn thinned(model: BetaBinomial, part: f64) -> BetaBinomial {
    if part >= 1.0 {
        return model;
    }
    let mean = (model.mu() * part).clamp(1e-9, 1.0 - 1e-9);
    let alpha = model.alpha();
    if !alpha.is_finite() {
        return BetaBinomial::new(mean, model.rho()).unwrap_or(model);
    }
    BetaBinomial::from_alpha_beta(alpha, alpha * (1.0 - mean) / mean).unwrap_or(model)
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
        match self.growth.batches {
            [_, ready] if ready > 0 => Rung::Ready,
            [potted, _] if potted > 0 => Rung::Potted,
            _ => Rung::Rooted,
        }
    }

    /// Mean and mean square of the steps beyond rooting, as far as they are known.
    fn beyond(&self, spot: Spot) -> Vec<(f64, f64)> {
        let steps = [&self.growth.potted, &self.growth.ready];
        let known = match self.rung() {
            Rung::Rooted => 0,
            Rung::Potted => 1,
            Rung::Ready => 2,
        };
        let known = steps.into_iter().take(known);
        known.map(|shares| shares.moments(spot)).collect()
    }

    /// Cuttings stuck anew of a taxon and wood stage, up the ladder; `season`: the nursery's year of sticking, if it is known.
    #[must_use]
    pub fn ladder(&self, taxon: &Taxon, wood: Option<Wood>, season: Option<i32>) -> Ladder {
        let spot = self.groups.spot(taxon, wood);
        let season = season.and_then(|year| self.season(year));
        let beyond = self.beyond(spot);
        let kinds = self.shifted(spot, season);
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
        let (ratio, within) = self.ratio(spot);
        Ladder {
            points,
            times: self.times(spot, wood, season, ratio, within),
        }
    }

    /// What a group may be like in a season, by its mean share.
    fn shifted(&self, spot: Spot, season: Option<usize>) -> Vec<GroupShare> {
        let shifts = self.share_shifts.chances(season, None);
        let prior = self.share_shifts.prior();
        let mut kinds = Vec::new();
        for kind in self.shares.kinds(spot) {
            let odds = kind.mean / (1.0 - kind.mean).max(1e-12);
            for (at, chance) in shifts.iter().enumerate().filter(|(_, c)| **c > 1e-3) {
                let shift = prior.step * (at as f64 - prior.reach as f64);
                let odds = odds * shift.exp();
                kinds.push(GroupShare {
                    weight: kind.weight * chance,
                    mean: odds / (1.0 + odds),
                    rho: kind.rho,
                });
            }
        }
        kinds.sort_by(|a, b| a.mean.total_cmp(&b.mean));
        kinds
    }

    /// The ratio of the last rung's day to the middle day of rooting, and the spread within batches.
    pub(super) fn ratio(&self, spot: Spot) -> (Moments, f64) {
        match self.rung() {
            Rung::Ready => (self.growth.sale.moments(spot), self.growth.sale.scale),
            Rung::Potted => (self.growth.potting.moments(spot), TOGETHER),
            Rung::Rooted => (Moments::default(), self.days.scale),
        }
    }

    /// Days of single plants of a batch of which nothing is known, at a ratio to the middle day of rooting.
    pub(super) fn times(
        &self,
        spot: Spot,
        wood: Option<Wood>,
        season: Option<usize>,
        ratio: Moments,
        within: f64,
    ) -> ReadyTimes {
        let rooting = self.days.middle_moments(spot, wood);
        ReadyTimes::after(rooting, self.day_shifts.moments(season), ratio, within)
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
}
