//! The fewest cuttings that reach an assurance, in batches of the usual size, and the trays that they need at a place.
//! It knows no day.

use super::hand::{InHand, PlantsWanted};
use crate::analysis::expect::ladder::Ladder;
use crate::fold::Book;
use crate::model::taxon::Taxon;
use crate::model::text::{folded, place_key, split_spot};
use crate::stats::power::search;
use chrono::NaiveDate;
use serde::Serialize;

/// What the nursery usually does with a taxon.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UsualBatch {
    /// Cuttings to a batch.
    pub batch: u32,
    /// Cuttings to a tray.
    pub per_tray: Option<u32>,
    /// Cuttings to a plant.
    pub per_plant: u32,
}

/// Without any history: a batch of a common plug tray.
const NO_HISTORY: u32 = 48;

/// The middle of numbers.
fn middle(mut numbers: Vec<u32>) -> Option<u32> {
    numbers.sort_unstable();
    numbers.get(numbers.len() / 2).copied()
}

impl UsualBatch {
    /// The usual batch of a taxon, or of the whole nursery where the taxon was never stuck. `batch` sets the cuttings to a
    /// batch, if the user asked for a number.
    #[must_use]
    pub fn for_taxon(book: &Book, taxon: &Taxon, on: NaiveDate, batch: Option<u32>) -> Self {
        let whole = || {
            book.batches()
                .iter()
                .filter(|b| b.stuck_on <= on && b.parent.is_none())
        };
        let own = || whole().filter(|b| b.taxon.key() == taxon.key());
        let either = |of: &dyn Fn(&crate::fold::batch::Batch) -> Option<u32>| {
            let own: Vec<u32> = own().filter_map(|b| of(b)).collect();
            middle(own).or_else(|| middle(whole().filter_map(|b| of(b)).collect()))
        };
        Self {
            batch: batch
                .or_else(|| either(&|b| Some(b.stick.stuck)))
                .unwrap_or(NO_HISTORY)
                .max(1),
            per_tray: either(&|b| b.stick.per_container),
            per_plant: own()
                .next_back()
                .and_then(|b| b.stick.per_plant)
                .unwrap_or(1)
                .max(1),
        }
    }

    /// Divides cuttings into batches of about the usual size, as evenly as they come.
    #[must_use]
    pub fn batches(&self, cuttings: u32) -> Vec<u32> {
        let count = cuttings.div_ceil(self.batch).max(1);
        let (each, more) = (cuttings / count, cuttings % count);
        (0..count).map(|at| each + u32::from(at < more)).collect()
    }
}

/// The chance with fewer cuttings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SmallerPlan {
    /// Cuttings in all.
    #[serde(rename = "stick")]
    pub cuttings: u32,
    /// The chance.
    pub chance: f64,
}

/// What to stick.
pub(super) struct Sized {
    pub batches: Vec<u32>,
    pub chance: f64,
    pub fewer: Vec<SmallerPlan>,
}

/// What a number of cuttings is judged by.
pub(super) struct Sizing<'a> {
    pub ladder: &'a Ladder,
    pub wanted: &'a PlantsWanted,
    pub hand: &'a InHand,
    pub usual: &'a UsualBatch,
}

impl Sizing<'_> {
    /// The chance of the plants wanted from what is in hand and so many cuttings more, stuck so many days before.
    fn chance(&self, cuttings: u32, days: f64) -> f64 {
        let further = self.ladder.tail_by(&self.usual.batches(cuttings), days);
        let hand = &self.hand.coarse;
        let missing = |have: usize| {
            let have = u32::try_from(have).unwrap_or(u32::MAX);
            self.wanted.plants.saturating_sub(have)
        };
        let mut sum = 0.0;
        for (have, &chance) in hand
            .chances()
            .iter()
            .enumerate()
            .filter(|(_, c)| **c > 1e-9)
        {
            let more = match missing(have) {
                0 => 1.0,
                more => further(more.saturating_mul(self.usual.per_plant)),
            };
            sum += chance * more;
            if missing(have) == 0 {
                sum += hand.at_least(have + 1);
                break;
            }
        }
        sum.min(1.0)
    }

    /// The fewest cuttings, from `least` to `most`, that reach the assurance so many days after sticking; 0 if none are
    /// needed, nothing if not even the most do.
    pub fn fewest(&self, days: f64, least: u32, most: u32) -> Option<u32> {
        if self.hand.chance >= self.wanted.assurance {
            return Some(0);
        }
        let with = |cuttings: u32| self.chance(cuttings, days);
        search(least, most, self.wanted.assurance, with).map(|found| found.n)
    }

    /// The first day after sticking by which so many cuttings reach the assurance, no later than `longest`.
    pub fn first_day(&self, cuttings: u32, longest: u32) -> u32 {
        let is_enough = |day: u32| self.chance(cuttings, day.into()) >= self.wanted.assurance;
        let (mut short, mut enough) = (0, longest);
        while enough - short > 1 {
            let middle = short + (enough - short) / 2;
            if is_enough(middle) {
                enough = middle;
            } else {
                short = middle;
            }
        }
        enough
    }

    /// No cuttings, with the chance of what is in hand.
    pub fn none(&self) -> Sized {
        Sized {
            batches: Vec::new(),
            chance: self.hand.chance,
            fewer: Vec::new(),
        }
    }

    /// The chance with this many cuttings by that day since sticking, and with a tenth, a quarter and two fifths fewer.
    pub fn sized(&self, cuttings: u32, days: f64) -> Sized {
        let less = [0.9, 0.75, 0.6].map(|part| (part * f64::from(cuttings)).round() as u32);
        let least = self.wanted.plants.saturating_mul(self.usual.per_plant);
        let fewer = less.into_iter().filter(|n| *n < cuttings && *n >= least);
        Sized {
            batches: self.usual.batches(cuttings),
            chance: self.chance(cuttings, days),
            fewer: fewer
                .map(|cuttings| SmallerPlan {
                    cuttings,
                    chance: self.chance(cuttings, days),
                })
                .collect(),
        }
    }
}

/// The room at a place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TrayRoom {
    /// The place.
    pub place: String,
    /// Trays that it holds.
    pub trays: u32,
    /// Trays taken by open batches; a batch without a tray size takes one.
    pub taken: u32,
}

impl TrayRoom {
    /// Trays free.
    #[must_use]
    pub fn free(&self) -> u32 {
        self.trays.saturating_sub(self.taken)
    }
}

/// The place where a taxon was last stuck, if its room is known.
pub(super) fn tray_room(book: &Book, on: NaiveDate, taxon: &Taxon) -> Option<TrayRoom> {
    let stuck = book.batches().iter().filter(|b| b.stuck_on <= on);
    let mut own = stuck.filter(|b| b.taxon.key() == taxon.key());
    let place = own
        .rfind(|b| b.stick.place.is_some())?
        .stick
        .place
        .clone()?;
    let held = book.places().get(split_spot(&place).0)?;
    let trays = held.facts.as_ref()?.trays?;
    let here = |place: &str| place_key(&book.places().shown(place)) == folded(&held.name);
    let open = book.batches().iter().filter(|b| b.stuck_on <= on);
    let taken = open
        .filter(|b| b.place.as_deref().is_some_and(here))
        .filter_map(|b| {
            let remain = b.counts_on(on)?.remain();
            let per_tray = b.stick.per_container.unwrap_or(remain).max(1);
            (remain > 0).then(|| remain.div_ceil(per_tray))
        })
        .sum();
    Some(TrayRoom {
        place: held.name.clone(),
        trays,
        taken,
    })
}

/// The room at a place, and what all plans ask of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RoomAsked {
    /// The room.
    #[serde(flatten)]
    pub room: TrayRoom,
    /// Trays asked for.
    pub asked: u32,
}
