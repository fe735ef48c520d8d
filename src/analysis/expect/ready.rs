//! When single plants come to a stage beyond rooting: roots at the bottom of their cells, ready for sale. What was entered
//! of a batch's first plants says nothing of its others, which are still under way. It knows no shares.
//!
//! A plant's day is ln T = x + r + s·W: x the ln of its batch's middle day of rooting, r the batch's ratio, normal around its
//! group's and pooled as in [`crate::stats::pooling`], s the spread within batches and W standard normal.

use super::days::over_any_share;
use super::groups::Groups;
use super::multiple::Moments;
use super::multiple::{Multiple, RATIOS};
use crate::stats::distributions::Family;
use crate::stats::distributions::Lookup;
use crate::stats::pooling::{Spot, normalised};
use crate::stats::sampled::evenly;
use crate::stats::workers;
use std::collections::HashMap;
use std::sync::LazyLock;

/// No chance is smaller than this: an entry that was off does not rule a day out.
const FLOOR: f64 = 1e-9;
/// Spreads within batches that are tried, in ln days.
const WITHIN: [f64; 6] = [0.06, 0.09, 0.13, 0.19, 0.27, 0.38];
/// Spread of the logarithm of what is believed of them beforehand.
const WITHIN_SPREAD: f64 = 0.6;
/// So many batches tell of the spread within batches as well as all do.
const ENOUGH: usize = 2_000;
/// Plants of one batch are worth no more than so many: whole lots are moved on together.
const MOST: f64 = 20.0;

static NORMAL: LazyLock<Lookup> = LazyLock::new(|| Lookup::new(Family::LogNormal));

/// What was entered of a batch's plants at a later stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Lots {
    /// ln of the batch's middle day of rooting.
    pub rooting: f64,
    /// After one day since sticking and by another, so many.
    pub arrived: Vec<(f64, f64, f64)>,
    /// On their way when last heard of.
    pub waiting: f64,
    /// Days since sticking when that was.
    pub until: f64,
    /// Lost on the way.
    pub lost: f64,
}

impl Lots {
    fn count(&self) -> f64 {
        self.arrived.iter().map(|(.., n)| n).sum()
    }

    /// Log-likelihoods of ratios.
    fn logs(&self, ratios: impl Iterator<Item = f64>, scale: f64) -> Vec<f64> {
        let late = |day: f64| match day > 0.0 {
            true => day.ln() - self.rooting,
            false => f64::NEG_INFINITY,
        };
        let arrived = self.arrived.iter();
        let arrived: Vec<(f64, f64, f64)> = arrived
            .map(|&(from, to, n)| (late(from), late(to), n))
            .collect();
        let until = late(self.until);
        let count = self.count();
        let worth = (MOST / (count + self.waiting).max(1.0)).min(1.0);
        let still = [count, self.lost, self.waiting].map(|n| n * worth);
        let log = |ratio: f64| {
            let by = |late: f64| NORMAL.below((late - ratio) / scale);
            let mut sum = 0.0;
            for &(from, to, n) in &arrived {
                sum += worth * n * (by(to) - by(from)).max(FLOOR).ln();
            }
            if self.waiting > 0.0 {
                sum += over_any_share(still, by(until));
            }
            sum
        };
        ratios.map(log).collect()
    }

    /// The middle of the ratio by the entries alone.
    fn rough(&self) -> f64 {
        let each = self.arrived.iter();
        let sum: f64 = each
            .map(|(from, to, n)| n * (0.5 * (from + to)).max(1.0).ln())
            .sum();
        sum / self.count().max(1e-9) - self.rooting
    }
}

/// Days of single plants, as learnt.
#[derive(Clone, Debug)]
pub(super) struct PlantDays {
    ratio: Multiple,
    /// Spread within batches, in ln days.
    pub scale: f64,
    /// Batches that it was learnt from, by leaf.
    batches: HashMap<usize, u32>,
}

impl PlantDays {
    /// Learns from batches, each with its leaf. `guess`: middle and spread of the ratio without history, and the spread
    /// within batches (all common practice).
    pub fn learn(groups: &Groups, lots: &[(usize, Lots)], guess: (f64, f64), within: f64) -> Self {
        let told: Vec<&(usize, Lots)> = lots.iter().filter(|(_, l)| l.count() > 0.0).collect();
        let scale = best_scale(&told, within);
        let mut batches: HashMap<usize, u32> = HashMap::new();
        for (leaf, _) in &told {
            *batches.entry(*leaf).or_default() += 1;
        }
        let curves = workers::map(told.len(), |at| {
            let (leaf, lots) = told[at];
            (*leaf, lots.logs(RATIOS.points(), scale))
        });
        Self {
            ratio: Multiple::learn_curves(groups, &curves, guess),
            scale,
            batches,
        }
    }

    /// How many batches of a leaf it was learnt from.
    pub fn count(&self, leaf: usize) -> u32 {
        self.batches.get(&leaf).copied().unwrap_or(0)
    }

    /// Middle and spreads of the ratio of a batch at a spot of which nothing is known.
    pub fn moments(&self, spot: Spot) -> Moments {
        self.ratio.moments(spot)
    }

    /// Middle and variance of a batch's ratio, by its own entries as well.
    pub fn own(&self, spot: Spot, lots: &Lots) -> (f64, f64) {
        let own = match lots.count() > 0.0 {
            true => lots.logs(RATIOS.points(), self.scale),
            false => vec![0.0; RATIOS.len],
        };
        let prior = self.ratio.prior(spot).into_iter();
        let logs = prior
            .zip(own)
            .map(|((_, chance), own)| chance.max(1e-280).ln() + own);
        let weights = normalised(&logs.collect::<Vec<f64>>());
        let mean: f64 = RATIOS.points().zip(&weights).map(|(r, w)| r * w).sum();
        let square = RATIOS.points().zip(&weights);
        (mean, square.map(|(r, w)| w * (r - mean).powi(2)).sum())
    }
}

/// The spread within batches that is the most likely by what was believed and by each batch at its best ratio.
fn best_scale(told: &[&(usize, Lots)], within: f64) -> f64 {
    if told.is_empty() {
        return within;
    }
    let told = evenly(told.to_vec(), ENOUGH);
    let height = |scale: f64| -> f64 {
        let each = told.iter().map(|(_, lots)| {
            let rough = lots.rough();
            let near = [-0.08, 0.0, 0.08].into_iter().map(|step| rough + step);
            lots.logs(near, scale)
                .into_iter()
                .fold(f64::NEG_INFINITY, f64::max)
        });
        each.sum::<f64>() - 0.5 * ((scale / within).ln() / WITHIN_SPREAD).powi(2)
    };
    let heights = workers::each(WITHIN.len(), |at| height(WITHIN[at]));
    let mut best = (f64::NEG_INFINITY, within);
    for (scale, height) in WITHIN.into_iter().zip(heights) {
        if height > best.0 {
            best = (height, scale);
        }
    }
    best.1
}

/// Five nodes of equal weight that stand for a standard normal: the middles of its fifths, widened to its variance.
const NODES: [f64; 5] = [-1.4634, -0.5988, 0.0, 0.5988, 1.4634];

/// When single plants of a batch are so far, in ln days since sticking: normal around a centre that is not known for sure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadyTimes {
    /// The middle.
    pub(super) centre: f64,
    /// How far the middle of all batches of its kind and season may be off.
    pub(super) shared: f64,
    /// How far its own may be off beyond that.
    pub(super) own: f64,
    /// The spread between its plants.
    pub(super) within: f64,
}

impl ReadyTimes {
    /// At a ratio to a middle ln day of rooting, by how much a season shifts that and how sure that is, and the spread
    /// within batches.
    pub(super) fn after(
        rooting: Moments,
        (shift, variance): (f64, f64),
        ratio: Moments,
        within: f64,
    ) -> Self {
        Self {
            centre: rooting.mean + shift + ratio.mean,
            shared: (rooting.shared + variance + ratio.shared).sqrt(),
            own: (rooting.between + ratio.between).sqrt(),
            within,
        }
    }

    /// For each shared error the share of a batch's plants that are so far by a day, under each error of its own; all
    /// errors are equally likely.
    #[must_use]
    pub fn shares_by(&self, day: f64) -> [[f64; 5]; 5] {
        NODES.map(|shared| NODES.map(|own| self.share_by(day, shared, own)))
    }

    fn share_by(&self, day: f64, shared: f64, own: f64) -> f64 {
        if day <= 0.0 {
            return 0.0;
        }
        if day.is_infinite() {
            return 1.0;
        }
        let centre = self.centre + shared * self.shared + own * self.own;
        NORMAL.below((day.ln() - centre) / self.within.max(1e-3))
    }

    /// The day by which so great a part of all plants of such batches are so far, `part` from 0 to 1.
    #[must_use]
    pub fn day_by(&self, part: f64) -> f64 {
        let whole = (self.shared.powi(2) + self.own.powi(2) + self.within.powi(2)).sqrt();
        (self.centre + whole * crate::stats::distributions::normal_quantile(part)).exp()
    }
}
