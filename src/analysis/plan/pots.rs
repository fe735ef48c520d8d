//! Plants in pots that are not sold: how many, since when, when those not ready yet are expected to be, and how many were
//! wanted. It words nothing.

use super::hand::PlantsWanted;
use crate::analysis::expect::Model;
use crate::analysis::expect::ladder::Rung;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::taxon::Taxon;
use chrono::{NaiveDate, TimeDelta};

/// Days since sticking by which every plant that ever gets ready is.
const LAST: u32 = 4_000;

/// The plants of one batch in pots.
#[derive(Clone, Debug, PartialEq)]
pub struct PlantsInPots {
    /// The batch's code.
    pub code: String,
    /// Plants in pots, ready ones counted in.
    pub plants: u32,
    /// Those of them that are ready.
    pub ready: u32,
    /// The day on which the first were potted.
    pub potted_on: Option<NaiveDate>,
    /// The day by which half of those that are still to come are expected to be ready; nothing where none are, or where the
    /// journal does not know the way there.
    pub ready_on: Option<NaiveDate>,
}

/// A taxon's plants in pots.
#[derive(Clone, Debug, PartialEq)]
pub struct TaxonInPots {
    /// The plant.
    pub taxon: Taxon,
    /// Its batches, those potted first first.
    pub batches: Vec<PlantsInPots>,
    /// What of it is wanted: plants, and by when.
    pub wanted: Vec<(u32, NaiveDate)>,
}

/// The plants in pots by taxon, in the order of their names.
#[must_use]
pub fn in_pots(book: &Book, model: &Model, wanted: &[PlantsWanted]) -> Vec<TaxonInPots> {
    let mut out: Vec<TaxonInPots> = Vec::new();
    let batches = book.batches().iter();
    for batch in batches.filter(|batch| batch.counts.in_pots() > 0) {
        let plants = plants(batch, model);
        let key = batch.taxon.key();
        match out.iter_mut().find(|held| held.taxon.key() == key) {
            Some(held) => held.batches.push(plants),
            None => out.push(TaxonInPots {
                taxon: Taxon::clone(&batch.taxon),
                batches: vec![plants],
                wanted: wanted
                    .iter()
                    .filter(|one| one.taxon.key() == key)
                    .map(|one| (one.plants, one.by))
                    .collect(),
            }),
        }
    }
    for held in &mut out {
        held.batches.sort_by_key(|batch| batch.potted_on);
    }
    out.sort_by_cached_key(|held| held.taxon.shown());
    out
}

fn plants(batch: &Batch, model: &Model) -> PlantsInPots {
    let counts = &batch.counts;
    let (plants, ready) = (counts.in_pots(), counts.ready.saturating_sub(counts.sold));
    let first = batch.inspections.iter().find(|look| look.potted > 0);
    PlantsInPots {
        code: batch.code.clone(),
        plants,
        ready: ready.min(plants),
        potted_on: first.map(|look| look.day),
        ready_on: (plants > ready).then(|| ready_on(batch, model)).flatten(),
    }
}

/// The first day by which half of the plants still to come are expected to be ready.
fn ready_on(batch: &Batch, model: &Model) -> Option<NaiveDate> {
    if model.rung() != Rung::Ready {
        return None;
    }
    let forecast = model.forecast(batch)?;
    let goes_on = model.rest(&batch.taxon, batch.stick.wood, true);
    let goes_on = goes_on.map_or(1.0, |counts| counts.mu());
    let share = |day: u32| -> f64 {
        let parts = forecast.parts_by(f64::from(day), goes_on);
        parts.iter().map(|part| part.in_pots).sum()
    };
    let half = 0.5 * share(LAST);
    let today = u32::try_from((model.on() - batch.stuck_on).num_days()).ok()?;
    let (mut before, mut by) = (today, LAST);
    while by.saturating_sub(before) > 1 {
        let middle = before + (by - before) / 2;
        match share(middle) >= half {
            true => by = middle,
            false => before = middle,
        }
    }
    (half > 0.0 && by < LAST).then(|| batch.stuck_on + TimeDelta::days(i64::from(by)))
}
