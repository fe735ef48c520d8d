//! The fewest cuttings that reach an assurance, in batches of the usual size. It knows no day.

use super::hand::InHand;
use super::{MOST, PlantsWanted};
use crate::analysis::expect::ladder::Ladder;
use crate::fold::Book;
use crate::model::taxon::Taxon;
use crate::stats::counts::Discrete;
use crate::stats::plan::search;
use chrono::NaiveDate;

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
    /// Of a taxon; of the whole nursery where it was never stuck. `batch`: cuttings to a batch, if told.
    #[must_use]
    pub fn of(book: &Book, taxon: &Taxon, on: NaiveDate, batch: Option<u32>) -> Self {
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

    /// So many cuttings in batches of about the usual size, as even as they come.
    #[must_use]
    pub fn batches(&self, cuttings: u32) -> Vec<u32> {
        let count = cuttings.div_ceil(self.batch).max(1);
        let (each, more) = (cuttings / count, cuttings % count);
        (0..count).map(|at| each + u32::from(at < more)).collect()
    }
}

/// The chance with fewer cuttings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SmallerPlan {
    /// Cuttings in all.
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

/// The chance of the plants wanted from what is in hand and so many cuttings more.
fn chance(ladder: &Ladder, hand: &Discrete, wanted: u32, usual: &UsualBatch, cuttings: u32) -> f64 {
    let further = ladder.tail(&usual.batches(cuttings));
    let missing = |have: usize| wanted.saturating_sub(u32::try_from(have).unwrap_or(u32::MAX));
    let mut sum = 0.0;
    for (have, &chance) in hand
        .chances()
        .iter()
        .enumerate()
        .filter(|(_, c)| **c > 1e-9)
    {
        let more = match missing(have) {
            0 => 1.0,
            more => further(more.saturating_mul(usual.per_plant)),
        };
        sum += chance * more;
        if missing(have) == 0 {
            sum += hand.at_least(have + 1);
            break;
        }
    }
    sum.min(1.0)
}

/// The fewest cuttings, and the chance with a tenth, a quarter and two fifths fewer.
pub(super) fn fewest(
    ladder: &Ladder,
    wanted: &PlantsWanted,
    hand: &InHand,
    usual: &UsualBatch,
) -> Sized {
    let none = |chance| Sized {
        batches: Vec::new(),
        chance,
        fewer: Vec::new(),
    };
    if hand.chance >= wanted.assurance {
        return none(hand.chance);
    }
    let with = |cuttings: u32| chance(ladder, &hand.coarse, wanted.plants, usual, cuttings);
    let Some(found) = search(1, MOST, wanted.assurance, with) else {
        return none(with(0));
    };
    let less = [0.9, 0.75, 0.6].map(|part| (part * f64::from(found.n)).round() as u32);
    let fewer = less
        .into_iter()
        .filter(|n| *n < found.n && *n >= wanted.plants.saturating_mul(usual.per_plant))
        .map(|cuttings| SmallerPlan {
            cuttings,
            chance: with(cuttings),
        });
    Sized {
        batches: usual.batches(found.n),
        chance: found.chance,
        fewer: fewer.collect(),
    }
}
