//! What to expect of a batch: the share of its cuttings that will root, the days by which they do, and what becomes of
//! them after that. One model, learnt from the journal as of a day; due, forecast, plan and targets all ask it. It words
//! nothing and asks no clock.
//!
//! [`Model::learn`] estimates days to root (`days`), losses (`losses`), callus (`callus`), shares (`shares`) and the steps
//! beyond rooting (`growth`), pooled over taxon × wood stage, taxon, genus and all (`groups`). [`Model::forecast`] weighs
//! one batch's own evidence (`evidence`) with what all other batches say of it; [`Model::ladder`] tells of a batch stuck
//! anew.

mod batch;
mod callus;
mod days;
mod draws;
mod evidence;
mod groups;
mod growth;
pub mod ladder;
mod learn;
mod losses;
mod observed;
mod outlook;
pub mod practice;
mod setback;
mod shares;

use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::stats::counts::Discrete;
use chrono::NaiveDate;
use std::collections::HashMap;

/// What the journal teaches as of a day. It holds no reference to the book.
#[derive(Clone, Debug)]
pub struct Model {
    on: NaiveDate,
    groups: groups::Groups,
    days: days::Days,
    losses: losses::Losses,
    callus: Option<callus::Callus>,
    shares: shares::Shares,
    growth: growth::Growth,
    /// Correlation of what befalls those waiting, beyond what is foretold.
    setback: f64,
    /// The batches seen.
    held: HashMap<Id, BatchState>,
    /// Evidence of open batches, as far as worked out while learning.
    evidence: HashMap<Id, evidence::Evidence>,
    /// By leaf: batches that tell of rooting.
    members: Vec<u32>,
}

/// A batch as the model holds it.
#[derive(Clone, Debug)]
struct BatchState {
    observed: observed::Observed,
    /// The unit that it was learnt in, if it counts.
    unit: Option<usize>,
    /// Days since sticking on which it was ready for potting, if it was.
    ready: Option<f64>,
    /// Days since sticking of its first plants ready for sale, if any are.
    sold: Option<f64>,
    /// Days since sticking on the day learnt.
    age: u32,
}

/// A day since sticking, as an interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayRange {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl DayRange {
    /// Whether it holds a value, ends included.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

/// Days since sticking on which something will have come.
#[derive(Clone, Debug, PartialEq)]
pub struct DayForecast {
    /// As likely sooner as later.
    pub middle: f64,
    /// Holds with even chances.
    pub half: DayRange,
    /// Holds with chances of four to one.
    pub wide: DayRange,
    /// Draws of the forecast, ascending.
    pub draws: Vec<f64>,
}

impl DayForecast {
    /// The chance that it has come by a day since sticking.
    #[must_use]
    pub fn by(&self, day: f64) -> f64 {
        let before = self.draws.partition_point(|draw| *draw <= day);
        before as f64 / self.draws.len().max(1) as f64
    }
}

/// How many batches of each kind tell of rooting beside a batch's own looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kin {
    /// Of the same taxon and wood stage.
    pub same: u32,
    /// Of the same taxon.
    pub taxon: u32,
    /// Of the same genus.
    pub genus: u32,
    /// In all.
    pub all: u32,
}

impl Kin {
    /// So many fewer, which are of every kind.
    #[must_use]
    fn without(self, own: u32) -> Self {
        let fewer = |count: u32| count.saturating_sub(own);
        Self {
            same: fewer(self.same),
            taxon: fewer(self.taxon),
            genus: fewer(self.genus),
            all: fewer(self.all),
        }
    }
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
    /// The day of its first plants ready for sale (potted, if the journal never saw any ready).
    pub sale: Option<DayForecast>,
    /// Some are ready for sale already.
    pub on_sale: bool,
    /// From whom it borrows.
    pub kin: Kin,
}

impl Forecast {
    /// Whether it was ready to pot, and all that were seen rooted by a day have left the bench.
    #[must_use]
    pub fn is_potted(&self, batch: &Batch, on: NaiveDate) -> bool {
        let counts = batch.counts_on(on).filter(|_| self.ready_to_pot);
        counts.is_some_and(|counts| counts.bench[2] + counts.bench[3] == 0)
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

    /// The chance that at least so many root.
    #[must_use]
    pub fn at_least(&self, count: usize) -> f64 {
        self.count.at_least(count)
    }
}

/// The forecasts of open batches, and who has none.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecasts {
    /// As of the end of this day.
    pub on: NaiveDate,
    /// By day of sticking, then code.
    pub batches: Vec<Forecast>,
    /// Open batches without an entry for 180 days, by code.
    pub silent: Vec<String>,
    /// Open batches left out: set aside, or failed cuttings stuck again, by code.
    pub left_out: Vec<String>,
    /// Batches that tell of rooting; 0: there is no history to borrow from.
    pub history: u32,
}

impl Model {
    /// The day that it was learnt on.
    #[must_use]
    pub fn on(&self) -> NaiveDate {
        self.on
    }

    /// How many batches tell of rooting.
    #[must_use]
    pub fn history(&self) -> u32 {
        self.members.iter().sum()
    }

    /// How many batches tell of rooting by kinship with a taxon and wood stage.
    #[must_use]
    pub fn kin(&self, taxon: &crate::model::taxon::Taxon, wood: Option<Wood>) -> Kin {
        let [same, of_taxon, genus, all] = self.groups.kin(taxon, wood, &self.members);
        Kin {
            same,
            taxon: of_taxon,
            genus,
            all,
        }
    }

    /// The forecasts of all batches with cuttings on the bench on the day learnt, of those that are meant.
    #[must_use]
    pub fn forecasts(&self, book: &Book, is_meant: &dyn Fn(&Batch) -> bool) -> Forecasts {
        let mut out = Forecasts {
            on: self.on,
            batches: Vec::new(),
            silent: Vec::new(),
            left_out: Vec::new(),
            history: self.history(),
        };
        for batch in book.batches() {
            let Some(held) = self.held.get(&batch.key) else {
                continue;
            };
            if held.observed.closed || held.observed.stuck == 0 || !is_meant(batch) {
                continue;
            }
            if batch.is_silent(self.on) {
                out.silent.push(batch.code.clone());
            } else if batch.stick.aside.is_some() || batch.stick.again.is_some() {
                out.left_out.push(batch.code.clone());
            } else {
                out.batches.extend(self.forecast(batch));
            }
        }
        out
    }
}
