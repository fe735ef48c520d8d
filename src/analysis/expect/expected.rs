//! The days and the share to expect of the next batch of a taxon at a wood stage, and how a batch stands beside them:
//! early, as usual or late.

use super::model::Model;
use super::ready::ReadyTimes;
use super::shares::{SHARES, share};
use crate::fold::Book;
use crate::fold::batch::{Batch, Inspection, Milestone};
use crate::fold::intervals::accounts;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::stats::counts::{BetaBinomial, Discrete};
use serde::Serialize;

/// Bins of the share rooted by a day.
const BINS: usize = 64;
/// Fewer replicates than this are no history (our own rule: two that agree are no custom).
pub const FEWEST: u32 = 3;

/// A day by which a share of those that reach a milestone are expected to have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct ExpectedDay {
    /// Days since sticking, rounded up.
    #[serde(rename = "day")]
    pub age: u32,
    /// The share of those that reach it, in per cent.
    pub percent: u32,
    /// The milestone.
    pub milestone: Milestone,
}

/// What is expected of the days of a taxon at a wood stage.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ExpectedDays {
    /// Replicates of this taxon and wood stage that it rests on.
    pub batches: usize,
    /// The days of 10, 50 and 90 % of root, of 50 and 90 % of bottom, by age.
    pub days: Vec<ExpectedDay>,
}

/// The share of the cuttings stuck that is expected to root in the next batch of a taxon at a wood stage.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ExpectedShare {
    /// The mean, 0 to 1.
    pub value: f64,
    /// Lower end of the range that holds the next batch's share in four of five cases.
    pub low: f64,
    /// Upper end of that range.
    pub high: f64,
    /// Batches of the taxon and wood stage that it rests on; it borrows from all others.
    pub batches: u32,
}

impl ExpectedDays {
    /// The day by which that share is expected to have.
    #[must_use]
    pub fn age(&self, milestone: Milestone, percent: u32) -> Option<u32> {
        let mut days = self.days.iter();
        days.find(|by| by.milestone == milestone && by.percent == percent)
            .map(|by| by.age)
    }
}

/// Which days due goes by: the milestone and the share in per cent.
const TAKEN: [(Milestone, u32); 5] = [
    (Milestone::Root, 10),
    (Milestone::Root, 50),
    (Milestone::Root, 90),
    (Milestone::Bottom, 50),
    (Milestone::Bottom, 90),
];

impl Model {
    fn root_quantile(
        &self,
        taxon: &Taxon,
        wood: Option<Wood>,
        season: Option<usize>,
        part: f64,
    ) -> f64 {
        let prior = self.day_prior(self.groups.spot(taxon, wood), wood, None, season);
        self.days.day_by(&prior, part)
    }

    /// The days to go by for a batch, if there is a history of its taxon at its wood stage.
    #[must_use]
    pub fn expected_days(&self, book: &Book, batch: &Batch) -> Option<ExpectedDays> {
        let (taxon, wood) = (&batch.taxon, batch.stick.wood);
        let batches = self.kin(taxon, wood).same;
        if batches < FEWEST {
            return None;
        }
        let season = self.season(book.season(batch.stuck_on));
        let leaf = self.groups.leaf(taxon, wood);
        let bottom = leaf
            .filter(|leaf| self.growth.bottom.count(*leaf) >= FEWEST)
            .map(|_| self.bottom_times(taxon, wood, season));
        let mut after = 0;
        let day = |&(milestone, percent): &(Milestone, u32)| {
            let part = f64::from(percent) / 100.0;
            let day = match milestone {
                Milestone::Bottom => bottom.as_ref()?.day_by(part),
                _ => self.root_quantile(taxon, wood, season, part),
            };
            Some(ExpectedDay {
                // A day counts once it is over.
                age: day.max(1.0).ceil() as u32,
                percent,
                milestone,
            })
        };
        let mut days: Vec<ExpectedDay> = TAKEN.iter().filter_map(day).collect();
        // Roots reach the bottom no sooner than they are there.
        for by in &mut days {
            if by.milestone == Milestone::Root && by.percent != 10 {
                after = after.max(by.age * u32::from(by.percent == 50));
            }
            if by.milestone == Milestone::Bottom {
                by.age = by.age.max(after);
            }
        }
        days.sort_unstable();
        Some(ExpectedDays {
            batches: batches as usize,
            days,
        })
    }

    fn bottom_times(&self, taxon: &Taxon, wood: Option<Wood>, season: Option<usize>) -> ReadyTimes {
        let spot = self.groups.spot(taxon, wood);
        let ratio = self.growth.bottom.moments(spot);
        self.times(spot, wood, season, ratio, self.growth.bottom.scale)
    }

    /// The share expected to root in the next batch of a taxon and wood stage, in a season of which nothing is known.
    /// Nothing while too few batches of any kind tell of rooting.
    #[must_use]
    pub fn expected_share(&self, taxon: &Taxon, wood: Option<Wood>) -> Option<ExpectedShare> {
        if self.history() < FEWEST {
            return None;
        }
        let chances = self.share_prior(self.groups.spot(taxon, wood), None, None);
        let whole: f64 = chances.iter().sum();
        let each = || SHARES.points().map(share).zip(&chances);
        // The grid runs from the lowest share to the highest.
        let quantile = |part: f64| {
            let mut sum = 0.0;
            let mut found = each().find(|(_, chance)| {
                sum += *chance;
                sum >= part * whole
            });
            found.take().map_or(1.0, |(share, _)| share)
        };
        Some(ExpectedShare {
            value: each().map(|(share, chance)| share * chance).sum::<f64>() / whole.max(1e-12),
            low: quantile(0.1),
            high: quantile(0.9),
            batches: self.kin(taxon, wood).same,
        })
    }

    /// Batches of a batch's taxon and wood stage beside itself that were followed to their end.
    #[must_use]
    pub fn closed_others(&self, batch: &Batch) -> u32 {
        let leaf = self.groups.leaf(&batch.taxon, batch.stick.wood);
        let tells = self.held.values().filter(|held| {
            let observed = &held.observed;
            let same = self.groups.leaf(&observed.taxon, observed.wood) == leaf;
            held.unit.is_some() && observed.closed && same && observed.key != batch.key
        });
        u32::try_from(tells.count()).unwrap_or(u32::MAX)
    }

    /// The share of cuttings expected to have rooted by a day since sticking in a batch like this one, its own word left
    /// out; and the chances of the count of `n` cuttings.
    #[must_use]
    pub fn rooted_by(&self, batch: &Batch, n: u32, day: u32) -> (f64, Discrete) {
        let (spot, wood) = (
            self.groups.spot(&batch.taxon, batch.stick.wood),
            batch.stick.wood,
        );
        let held = self.held.get(&batch.key);
        let (unit, season) = held.map_or((None, None), |held| (held.unit, held.season));
        let shares = self.share_prior(spot, unit, season);
        let places = self.day_prior(spot, wood, unit, season);
        let mut parts = vec![0.0; BINS + 1];
        for (m, chance) in self.days.grid.points().zip(&places) {
            let by = self.days.by(f64::from(day), m);
            for (logit, weight) in SHARES.points().zip(&shares).filter(|(_, w)| **w > 1e-7) {
                let part = share(logit) * by;
                parts[(part * BINS as f64).round() as usize] += chance * weight;
            }
        }
        let whole: f64 = parts.iter().sum::<f64>().max(1e-12);
        let mut counts = vec![0.0; n as usize + 1];
        let mut mean = 0.0;
        for (at, weight) in parts.iter().enumerate().filter(|(_, w)| **w > 1e-7) {
            let part = at as f64 / BINS as f64;
            mean += part * weight / whole;
            if let Ok(model) = BetaBinomial::new(part, 0.0) {
                let each = model.counts(n);
                counts
                    .iter_mut()
                    .zip(each.chances())
                    .for_each(|(c, p)| *c += weight * p);
            }
        }
        let counts = Discrete::from_weights(counts).unwrap_or_else(|| Discrete::certain(0));
        (mean, counts)
    }
}

/// How a batch stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum UsualStanding {
    /// More have rooted than in all but one in ten such batches by that day.
    Early,
    /// The share that rooted lies between the two.
    Usual,
    /// Fewer have rooted than in all but one in ten.
    Late,
}

/// A batch beside what is expected of its kind.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BesideUsual {
    /// How it stands.
    pub standing: UsualStanding,
    /// Days since sticking at its last count.
    pub day: u32,
    /// The share of its cuttings seen rooted by then.
    pub rooted: f64,
    /// The share expected by that day.
    pub expected: f64,
    /// Other batches of its taxon and wood stage that were followed to their end.
    pub batches: u32,
}

/// Why a batch cannot be set beside others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NotComparable {
    /// Its roots were never examined.
    NotLifted,
    /// Too few other batches of its kind were followed to their end.
    TooFew {
        /// How many there are.
        others: u32,
        /// How many are needed.
        needed: u32,
    },
}

/// The batch's rooted share on the day of its last count, beside what is expected of the next batch of its taxon, wood stage
/// and season, its own word left out.
///
/// # Errors
/// If its roots were never examined, or too few others tell.
pub fn beside_usual(model: &Model, batch: &Batch) -> Result<BesideUsual, NotComparable> {
    let counted = |look: &&Inspection| look.tally.is_some_and(|tally| tally.root.is_some());
    let look = batch.inspections.iter().rev().find(counted);
    let look = look.ok_or(NotComparable::NotLifted)?;
    let all = accounts(&[batch], None, 1);
    let account = all.first().ok_or(NotComparable::NotLifted)?;
    let (others, needed) = (model.closed_others(batch), FEWEST);
    if others < needed {
        return Err(NotComparable::TooFew { others, needed });
    }
    let n = account.stuck.max(1);
    let had = account
        .milestone(Milestone::Root)
        .reached_by(look.age)
        .min(f64::from(n));
    let (expected, chances) = model.rooted_by(batch, n, look.age);
    let had_count = had.round() as usize;
    let standing = match () {
        () if chances.at_most(had_count) <= 0.1 => UsualStanding::Late,
        () if chances.at_least(had_count) <= 0.1 => UsualStanding::Early,
        () => UsualStanding::Usual,
    };
    Ok(BesideUsual {
        standing,
        day: look.age,
        rooted: had / f64::from(n),
        expected,
        batches: others,
    })
}
