//! What is in hand towards targets: batches stuck since, in plants to come with their chances. It sizes nothing.

use super::PlantsWanted;
use crate::analysis::expect::{Forecast, Model};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::stats::counts::BetaBinomial;
use crate::stats::counts::Discrete;
use chrono::NaiveDate;

/// One batch that counts towards a target.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchInHand {
    /// Its code.
    pub code: String,
    /// Plants ready already, ever.
    pub ready: u32,
    /// Plants to come from it by the day wanted, the ready ones counted in, expected.
    pub expected: f64,
    /// The chance that its first plants are ready by the day wanted.
    pub in_time: f64,
}

/// What is in hand.
#[derive(Clone, Debug, PartialEq)]
pub struct InHand {
    /// The batches, by day of sticking.
    pub batches: Vec<BatchInHand>,
    /// Plants ready already.
    pub ready: u32,
    /// Chances of the plants by the day wanted.
    pub plants: Discrete,
    /// The chance that they are enough.
    pub chance: f64,
    /// The same chances of plants, as few points as sizing needs.
    pub(super) coarse: Discrete,
}

impl InHand {
    fn of(batches: Vec<BatchInHand>, plants: Discrete, wanted: u32) -> Self {
        Self {
            ready: batches.iter().map(|b| b.ready).sum(),
            chance: plants.at_least(wanted as usize),
            coarse: coarse(&plants),
            batches,
            plants,
        }
    }
}

/// Points that a distribution is brought down to.
const POINTS: usize = 12;

/// The same distribution on few points: each stands for an equal part of the chance, at that part's mean rounded down.
fn coarse(plants: &Discrete) -> Discrete {
    let mut points = vec![0.0; plants.most() + 1];
    let (mut weight, mut mean) = (0.0, 0.0);
    for (count, chance) in plants.chances().iter().enumerate() {
        weight += chance;
        mean += chance * count as f64;
        if weight >= 1.0 / POINTS as f64 || (count == plants.most() && weight > 0.0) {
            points[(mean / weight) as usize] += weight;
            (weight, mean) = (0.0, 0.0);
        }
    }
    Discrete::from_weights(points).unwrap_or_else(|| plants.clone())
}

/// What is in hand for each want, in their order. A batch counts towards the first target of its taxon, by day
/// wanted, that was entered before it was stuck and for which it is more likely in time than late; failing that towards
/// the last of them.
pub(super) fn hands(book: &Book, model: &Model, wanted: &[PlantsWanted]) -> Vec<InHand> {
    let mut found: Vec<(Vec<BatchInHand>, Discrete)> = wanted
        .iter()
        .map(|_| (Vec::new(), Discrete::certain(0)))
        .collect();
    for batch in book.batches() {
        let fits: Vec<usize> = (0..wanted.len())
            .filter(|&at| counts(&wanted[at], batch, model))
            .collect();
        let Some(forecast) = fits.first().and_then(|_| model.forecast(batch)) else {
            continue;
        };
        let in_time = |at: &usize| chance_by(&forecast, batch, wanted[*at].by) >= 0.5;
        let Some(&at) = fits.iter().find(|at| in_time(at)).or(fits.last()) else {
            continue;
        };
        let (one, plants) = in_hand(model, batch, &forecast, wanted[at].by);
        found[at].0.push(one);
        found[at].1 = found[at].1.plus(&plants);
    }
    let each = wanted.iter().zip(found);
    each.map(|(wanted, (batches, plants))| InHand::of(batches, plants, wanted.plants))
        .collect()
}

fn counts(wanted: &PlantsWanted, batch: &Batch, model: &Model) -> bool {
    let Some(asked) = &wanted.target else {
        return false;
    };
    let on = model.on();
    let is_of_kind = batch.taxon.key() == wanted.taxon.key()
        && (wanted.wood.is_none() || wanted.wood == batch.stick.wood)
        && (asked.since..=on.min(wanted.by)).contains(&batch.stuck_on);
    is_of_kind && batch.stick.aside.is_none() && !is_lost_sight_of(batch, on)
}

/// Whether cuttings of it still stand on the bench of which nothing was heard for long. Plants that left the bench
/// are plants however long nothing is written of them.
fn is_lost_sight_of(batch: &Batch, on: NaiveDate) -> bool {
    let on_bench = || {
        let counts = batch.counts_on(on);
        counts.is_some_and(|counts| counts.remain() > 0)
    };
    batch.is_silent(on) && on_bench()
}

/// The chance that its first plants are ready by a day.
fn chance_by(forecast: &Forecast, batch: &Batch, by: NaiveDate) -> f64 {
    if forecast.on_sale {
        return 1.0;
    }
    let days = (by - batch.stuck_on).num_days() as f64;
    forecast.sale.as_ref().map_or(0.0, |when| when.by(days))
}

/// A count of which each gets further with the chance of a beta-binomial.
fn thinned(counts: &Discrete, model: Option<BetaBinomial>) -> Discrete {
    let Some(model) = model.filter(|model| model.mu() < 1.0) else {
        return counts.clone();
    };
    let mut sum = vec![0.0; counts.most() + 1];
    for (count, &chance) in counts
        .chances()
        .iter()
        .enumerate()
        .filter(|(_, c)| **c > 1e-9)
    {
        let further = model.counts(count as u32);
        sum.iter_mut()
            .zip(further.chances())
            .for_each(|(s, c)| *s += chance * c);
    }
    Discrete::from_weights(sum).unwrap_or_else(|| Discrete::certain(0))
}

pub(super) fn in_hand(
    model: &Model,
    batch: &Batch,
    forecast: &Forecast,
    by: NaiveDate,
) -> (BatchInHand, Discrete) {
    let now = batch.counts_on(model.on()).unwrap_or_default();
    let per_plant = batch.stick.per_plant.unwrap_or(1).max(1);
    let off = now.potted + now.finished_on_bench;
    let from_pots = now.ready.saturating_sub(now.ready_from_bench);
    let growing = now
        .potted
        .saturating_sub(now.lost_in_pots + from_pots * per_plant);
    let (taxon, wood) = (&batch.taxon, batch.stick.wood);
    // Rooted in the end, less those that have left the bench; never more than remain on it.
    let remain = now.remain() as usize;
    let rest = forecast.count.chances().iter().enumerate();
    let mut yet = vec![0.0; forecast.count.most() + 1];
    rest.for_each(|(count, chance)| yet[count.saturating_sub(off as usize).min(remain)] += chance);
    let yet = Discrete::from_weights(yet).unwrap_or_else(|| Discrete::certain(0));
    let bench = thinned(&yet, model.rest(taxon, wood, false));
    let pots = thinned(
        &Discrete::certain(growing as usize),
        model.rest(taxon, wood, true),
    );
    let cuttings = bench.plus(&pots);
    let mut plants = vec![0.0; cuttings.most() / per_plant as usize + 1];
    let each = cuttings.chances().iter().enumerate();
    each.for_each(|(count, chance)| plants[count / per_plant as usize] += chance);
    let plants = Discrete::from_weights(plants).unwrap_or_else(|| Discrete::certain(0));
    let in_time = chance_by(forecast, batch, by);
    let sum = plants.mixed(in_time, &Discrete::certain(0));
    let sum = sum.plus(&Discrete::certain(now.ready as usize));
    let one = BatchInHand {
        code: batch.code.clone(),
        ready: now.ready,
        expected: sum.mean(),
        in_time,
    };
    (one, sum)
}
