//! Wait, or stick again: the chance that a batch still makes the plants wanted by a day, against a fresh batch
//! stuck today. It decides nothing.

use super::hand::in_hand;
use super::window::StickingWindow;
use super::window::stages;
use crate::analysis::expect::Model;
use crate::analysis::expect::ladder::Rung;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::listed::Wood;
use chrono::NaiveDate;
use serde::Serialize;

/// Both ways, for one batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Choice {
    /// What counts as a plant.
    pub rung: Rung,
    /// Plants wanted.
    pub plants: u32,
    /// The day by which the plants are wanted.
    pub by: NaiveDate,
    /// The chance that the batch makes them if it is left to stand.
    pub wait: f64,
    /// A fresh batch of as many cuttings, at the stage with the best chance; nothing if no stage is in season today.
    #[serde(rename = "again")]
    pub fresh: Option<FreshBatch>,
}

/// A batch stuck on the day asked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FreshBatch {
    /// The wood stage; absent where the journal records none.
    pub wood: Option<Wood>,
    /// Cuttings: as many as the batch had.
    #[serde(rename = "stick")]
    pub stuck: u32,
    /// The chance that it makes the plants by the day.
    pub chance: f64,
    /// Batches of the taxon and stage that tell.
    pub told: u32,
}

/// The choice for a batch; nothing if the model has not seen it.
#[must_use]
pub fn choice(
    book: &Book,
    model: &Model,
    batch: &Batch,
    plants: u32,
    by: NaiveDate,
) -> Option<Choice> {
    let forecast = model.forecast(batch)?;
    let ready = batch.counts_on(model.on()).map_or(0, |counts| counts.ready);
    let (_, held) = in_hand(model, batch, &forecast, by, ready);
    let each = stages(book, model, &batch.taxon).into_iter();
    let in_season = each.filter(|wood| {
        let window = StickingWindow::for_taxon(book, &batch.taxon, *wood, model.on());
        wood.is_none() || window.is_some_and(|window| window.holds(model.on()))
    });
    let fresh = in_season.map(|wood| fresh(book, model, batch, wood, plants, by));
    Some(Choice {
        rung: model.rung(),
        plants,
        by,
        wait: held.at_least(plants as usize),
        fresh: fresh.max_by(|a, b| a.chance.total_cmp(&b.chance)),
    })
}

fn fresh(
    book: &Book,
    model: &Model,
    batch: &Batch,
    wood: Option<Wood>,
    plants: u32,
    by: NaiveDate,
) -> FreshBatch {
    let stuck = batch.stick.stuck;
    let per_plant = batch.stick.per_plant.unwrap_or(1).max(1);
    let season = book.season(model.on());
    let ladder = model.ladder(&batch.taxon, wood, Some(season));
    let days = (by - model.on()).num_days() as f64;
    let chance = ladder.tail_by(&[stuck], days)(plants.saturating_mul(per_plant));
    FreshBatch {
        wood,
        stuck,
        chance: if plants == 0 { 1.0 } else { chance },
        told: model.kin(&batch.taxon, wood).same,
    }
}
