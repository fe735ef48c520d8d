//! The model of what to expect, as learnt, and what it answers of one batch. It learns nothing itself.

use super::days::Days;
use super::evidence::{Evidence, Scales};
use super::failing::FailingSign;
use super::groups::{GroupSizes, Groups};
use super::growth::{Growth, age, ready_lots, ready_to_pot};
use super::losses::Callus;
use super::losses::Losses;
use super::observed::Observed;
use super::ready::{Lots, ReadyTimes};
use super::shares::Shares;
use crate::fold::batch::Batch;
use crate::fold::intervals::Account;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::stats::counts::Discrete;
use crate::stats::crossed::{ClassShifts, blended};
use crate::stats::pooling::Spot;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::HashMap;

/// What the journal teaches as of a day. It holds no reference to the book.
#[derive(Clone, Debug)]
pub struct Model {
    pub(super) on: NaiveDate,
    pub(super) groups: Groups,
    pub(super) days: Days,
    pub(super) losses: Losses,
    pub(super) callus: Option<Callus>,
    pub(super) shares: Shares,
    pub(super) growth: Growth,
    /// The nursery's years in which anything was stuck, ascending.
    pub(super) seasons: Vec<i32>,
    /// By how much the shares of a season are shifted, in logits.
    pub(super) share_shifts: ClassShifts,
    /// By how much the days of a season are shifted, in ln days.
    pub(super) day_shifts: ClassShifts,
    /// Cuttings lost on the bench a week, of those that stand there.
    pub(super) weekly_loss: f64,
    /// ln of the day on which a batch is closed over its middle day of rooting.
    pub(super) closing: f64,
    /// Correlation of what befalls those waiting, beyond what is foretold.
    pub(super) setback: f64,
    /// All batches stuck by the day.
    pub(super) held: HashMap<Id, BatchState>,
    /// Evidence of open batches, as far as worked out while learning.
    pub(super) evidence: HashMap<Id, Evidence>,
    /// Why open batches are failing, if they are.
    pub(super) failing: HashMap<Id, Vec<FailingSign>>,
    /// How many replicates tell of rooting.
    pub(super) members: GroupSizes,
}

/// What a forecast needs to know of one batch on a day.
#[derive(Clone, Debug)]
pub struct BatchState {
    pub(super) observed: Observed,
    /// The unit that it was learnt in, if it counts.
    pub(super) unit: Option<usize>,
    /// The number of its season.
    pub(super) season: Option<usize>,
    /// Days since sticking on which it was ready for potting, if it was.
    pub(super) ready: Option<f64>,
    /// Days since sticking on that day.
    pub(super) age: u32,
    /// Its plants made ready so far.
    pub(super) lots: Lots,
    /// The grower asked to look again on a day to come.
    pub(super) rests: bool,
    /// The share of those on the bench that dies each day while the loss seen goes on.
    pub(super) pace: f64,
}

impl BatchState {
    /// The state of a batch at the end of a day, as if no model had learnt from it, nobody had asked to look again and
    /// no loss was going on.
    #[must_use]
    pub fn new(batch: &Batch, account: &Account, on: NaiveDate, season: Option<usize>) -> Self {
        let observed = Observed::new(batch, account, on);
        Self {
            unit: None,
            season,
            ready: ready_to_pot(batch, account, &observed, on),
            age: age(batch, on),
            lots: ready_lots(batch, on, 0.0),
            rests: false,
            pace: 0.0,
            observed,
        }
    }
}

/// A day since sticking, as an interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DaySpan {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Days since sticking on which something will have come.
#[derive(Clone, Debug, PartialEq)]
pub struct DayForecast {
    /// The day that is as likely to be passed as not.
    pub middle: f64,
    /// Holds with even chances.
    pub half: DaySpan,
    /// Holds with chances of four to one.
    pub wide: DaySpan,
    /// Draws of the forecast, ascending.
    pub draws: Vec<f64>,
}

/// How many batches of each kind tell of rooting beside a batch's own looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Kin {
    /// Batches of the same taxon and wood stage.
    pub same: u32,
    /// Batches of the same taxon.
    pub taxon: u32,
    /// Batches of the same genus.
    pub genus: u32,
    /// Batches of any kind.
    pub all: u32,
}

impl Kin {
    /// Each count less `own` batches, which are of every kind.
    #[must_use]
    pub(super) fn without(self, own: u32) -> Self {
        let fewer = |count: u32| count.saturating_sub(own);
        Self {
            same: fewer(self.same),
            taxon: fewer(self.taxon),
            genus: fewer(self.genus),
            all: fewer(self.all),
        }
    }
}

/// The part of a batch's cuttings that are as far as the journal knows the way by a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartBy {
    /// The part (0 to 1) of those on the bench that will get so far.
    pub on_bench: f64,
    /// The part (0 to 1) of those in pots that were to get so far, less those that should have before now and did not.
    pub in_pots: f64,
}

/// The forecast of one batch.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    /// The batch.
    pub key: Id,
    /// Cuttings stuck, parts that left taken off.
    pub stuck: u32,
    /// Rooted so far, as far as seen.
    pub rooted: f64,
    /// Waiting on the bench, not rooted when last examined.
    pub waiting: f64,
    /// Days since sticking of the last look; 0 without any.
    pub looked: u32,
    /// Chances of the count rooted in the end: when the bench is clear, or on day 365.
    pub count: Discrete,
    /// The day by which half of those that root in the end have; nothing without waiting cuttings and none rooted.
    pub half: Option<DayForecast>,
    /// The day ready for potting: half of those that root with roots at the bottom, or the first potting.
    pub potting: Option<DayForecast>,
    /// Ready for potting already.
    pub ready_to_pot: bool,
    /// When each of its cuttings is as far as the journal knows the way: rooted, potted or ready for sale.
    pub(super) times: ReadyTimes,
    /// Days since sticking on the day learnt.
    pub(super) age: u32,
    /// Days since its last look, or since sticking without any.
    pub unseen_days: u32,
    /// The chance that a cutting seen on the bench still stands, by the journal's losses a week or by the loss seen going on.
    pub standing: f64,
    /// Not looked at for so long past the day by which its like are cleared that nothing is counted on.
    pub is_lost_sight_of: bool,
    /// Why it is failing, what decides first; empty if it is not.
    pub failing: Vec<FailingSign>,
    /// The batches from which it borrows.
    pub kin: Kin,
}

impl Forecast {
    /// Whether it was ready to pot, and all that were seen rooted by a day have left the bench.
    #[must_use]
    pub fn is_potted(&self, batch: &Batch, on: NaiveDate) -> bool {
        let counts = batch.counts_on(on).filter(|_| self.ready_to_pot);
        counts.is_some_and(|counts| counts.bench[2] + counts.bench[3] == 0)
    }

    /// The part of its cuttings not so far yet that are by a day since sticking, under each error of its days, all equally
    /// likely. What is not written by the day learnt comes after it; `goes_on`: the share of plants in pots that ever get so far.
    #[must_use]
    pub fn parts_by(&self, day: f64, goes_on: f64) -> [PartBy; 5] {
        let now = f64::from(self.age);
        let [until, before] = [day.max(now), now].map(|day| self.times.shares_by(day)[2]);
        std::array::from_fn(|at| {
            let come = (until[at] - before[at]).max(0.0);
            PartBy {
                on_bench: (come / (1.0 - before[at]).max(1e-9)).min(1.0),
                in_pots: (come / (1.0 - goes_on * before[at]).max(1e-9)).min(1.0),
            }
        })
    }

    /// The interval of the count that holds with at least that chance, equal tails; `chance` is 0 to 1.
    #[must_use]
    pub fn count_range(&self, chance: f64) -> (usize, usize) {
        let tail = 0.5 * (1.0 - chance);
        (self.count.quantile(tail), self.count.quantile(1.0 - tail))
    }

    /// The count as likely exceeded as not.
    #[must_use]
    pub fn middle(&self) -> usize {
        self.count.quantile(0.5)
    }
}

impl Model {
    /// The day that it was learnt on.
    #[must_use]
    pub fn on(&self) -> NaiveDate {
        self.on
    }

    /// Whether any cutting of a batch stood on the bench on the day learnt.
    #[must_use]
    pub fn is_open(&self, batch: &Batch) -> bool {
        let held = self.held.get(&batch.key);
        held.is_some_and(|held| !held.observed.closed && held.observed.stuck > 0)
    }

    /// How many batches tell of rooting.
    #[must_use]
    pub fn history(&self) -> u32 {
        self.members.whole()
    }

    /// How many batches tell of rooting by kinship with a taxon and wood stage.
    #[must_use]
    pub fn kin(&self, taxon: &Taxon, wood: Option<Wood>) -> Kin {
        let [same, of_taxon, genus, all] = self.groups.kin(taxon, wood, &self.members);
        Kin {
            same,
            taxon: of_taxon,
            genus,
            all,
        }
    }

    /// The number of a nursery's year among those in which anything was stuck.
    #[must_use]
    pub fn season(&self, year: i32) -> Option<usize> {
        self.seasons.binary_search(&year).ok()
    }

    /// Chances of a batch's share, on the grid of shares: what all other batches of its groups and of its season say.
    pub(super) fn share_prior(
        &self,
        spot: Spot,
        unit: Option<usize>,
        season: Option<usize>,
    ) -> Vec<f64> {
        let prior = self.shares.prior(spot, unit);
        blended(&prior, &self.share_shifts.chances(season, unit))
    }

    /// Chances of a batch's middle day of rooting, on the grid of ln days: what all other batches of its groups and of its
    /// season say.
    pub(super) fn day_prior(
        &self,
        spot: Spot,
        wood: Option<Wood>,
        unit: Option<usize>,
        season: Option<usize>,
    ) -> Vec<f64> {
        let prior = self.days.prior(spot, wood, unit);
        blended(&prior, &self.day_shifts.chances(season, unit))
    }

    /// Why an open batch is failing, what decides first; empty if it is not.
    #[must_use]
    pub fn failing(&self, batch: &Batch) -> &[FailingSign] {
        self.failing.get(&batch.key).map_or(&[], Vec::as_slice)
    }

    /// What evidence is weighed with.
    pub(super) fn scales(&self) -> Scales<'_> {
        Scales {
            days: &self.days,
            losses: &self.losses,
            callus: self.callus.as_ref(),
        }
    }

    /// The group of a batch.
    pub(super) fn spot(&self, seen: &Observed) -> Spot {
        self.groups.spot(&seen.taxon, seen.wood)
    }
}
