//! The plants wanted by a day, and what is in hand towards them: batches stuck since, and plants to come with their
//! chances. It sizes nothing.

use crate::analysis::expect::ladder::Rung;
use crate::analysis::expect::{Forecast, Model};
use crate::fold::Book;
use crate::fold::batch::{Batch, BatchCounts};
use crate::model::entry::Ready;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::stats::counts::{BetaBinomial, Discrete};
use chrono::NaiveDate;
use serde::{Serialize, Serializer};

/// One batch that counts towards a target.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BatchInHand {
    /// Its code.
    #[serde(rename = "batch")]
    pub code: String,
    /// Plants ready already, ever or in the season of the target.
    pub ready: u32,
    /// Plants to come from it by the day wanted, the ready ones counted in, expected.
    pub expected: f64,
    /// The part (0 to 1) of the plants it will make that is expected to be ready by the day wanted.
    pub by_then: f64,
    /// Days since its last look, or since sticking without any.
    pub unseen_days: u32,
    /// Not looked at for so long that only plants ready already are counted on.
    pub lost_sight_of: bool,
    /// Whether it is failing: its loss is taken to go on.
    pub failing: bool,
}

/// A range of counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct CountRange {
    /// Its lower end.
    pub low: usize,
    /// Its upper end.
    pub high: usize,
}

/// What is in hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InHand {
    /// The batches, by day of sticking.
    pub batches: Vec<BatchInHand>,
    /// Plants ready already.
    pub ready: u32,
    /// Plants by the day wanted, expected.
    pub expected: f64,
    /// Their range in four of five cases.
    pub p80: CountRange,
    /// The chance that they are enough.
    pub chance: f64,
    /// Chances of the plants by the day wanted.
    #[serde(skip)]
    pub plants: Discrete,
    /// The chances of the number of plants on as few points as sizing needs.
    #[serde(skip)]
    pub(super) coarse: Discrete,
}

impl InHand {
    fn new(batches: Vec<BatchInHand>, plants: Discrete, wanted: u32) -> Self {
        Self {
            expected: plants.mean(),
            p80: CountRange {
                low: plants.quantile(0.1),
                high: plants.quantile(0.9),
            },
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

/// Puts a distribution on few points: each stands for an equal part of the chance, at that part's mean rounded down.
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

/// Plants of a batch made ready in the season of a target's day, up to the end of `until`: what counts towards it, whenever the
/// target was entered.
#[must_use]
pub fn counted_ready(book: &Book, batch: &Batch, by: NaiveDate, until: NaiveDate) -> u32 {
    let season = book.season(by);
    let ready = batch.events.iter().filter_map(|event| {
        let day = event.entry.at.day();
        let ready = event.entry.get::<Ready>()?;
        (day <= by.min(until) && book.season(day) == season).then_some(ready.count)
    });
    ready.sum()
}

/// What is in hand for each want, in their order. A batch counts towards the first target of its taxon, by day
/// wanted, by which more than half of its plants are to be ready; failing that towards the last of them.
pub(super) fn hands(book: &Book, model: &Model, wanted: &[PlantsWanted]) -> Vec<InHand> {
    let mut sums: Vec<(Vec<BatchInHand>, Discrete)> = wanted
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
        let held = |at: usize| {
            let by = wanted[at].by;
            let ready = counted_ready(book, batch, by, model.on());
            in_hand(model, batch, &forecast, by, ready)
        };
        let mut each = fits.iter().map(|&at| (at, held(at)));
        let first = each.find(|(_, (one, _))| one.by_then >= 0.5 || one.ready > 0);
        let Some((at, (one, plants))) = first.or_else(|| fits.last().map(|&at| (at, held(at))))
        else {
            continue;
        };
        // What makes no plant is nothing in hand.
        if one.expected >= 0.5 || one.lost_sight_of {
            sums[at].0.push(one);
            sums[at].1 = sums[at].1.plus(&plants);
        }
    }
    let each = wanted.iter().zip(sums);
    each.map(|(wanted, (batches, plants))| InHand::new(batches, plants, wanted.plants))
        .collect()
}

fn counts(wanted: &PlantsWanted, batch: &Batch, model: &Model) -> bool {
    let is_of_kind = batch.taxon.key() == wanted.taxon.key()
        && (wanted.wood.is_none() || wanted.wood == batch.stick.wood)
        && batch.stuck_on <= model.on().min(wanted.by);
    wanted.target.is_some() && is_of_kind && batch.stick.aside.is_none()
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

/// A count of which those beyond `floor` are there with a chance each.
fn thinned_beyond(counts: &Discrete, floor: usize, chance: f64) -> Discrete {
    if chance >= 1.0 {
        return counts.clone();
    }
    let mut beyond = vec![0.0; counts.most().saturating_sub(floor) + 1];
    let mut sum = vec![0.0; counts.most() + 1];
    for (count, &weight) in counts.chances().iter().enumerate() {
        match count.checked_sub(floor) {
            Some(more) => beyond[more] += weight,
            None => sum[count] += weight,
        }
    }
    let whole: f64 = beyond.iter().sum();
    let model = BetaBinomial::new(chance.clamp(0.0, 1.0), 0.0).ok();
    if let Some(beyond) = Discrete::from_weights(beyond) {
        let there = thinned(&beyond, model);
        for (more, weight) in there.chances().iter().enumerate() {
            sum[floor + more] += whole * weight;
        }
    }
    Discrete::from_weights(sum).unwrap_or_else(|| Discrete::certain(0))
}

/// Correlation of what befalls the cuttings of a batch that nobody looked at (our own rule).
const UNSEEN: f64 = 0.2;

/// Rooted in the end and not off the bench yet, never more than remain on it, as far as they still stand.
fn on_bench(forecast: &Forecast, now: &BatchCounts) -> Discrete {
    let off = (now.potted + now.finished_on_bench) as usize;
    let remain = now.remain() as usize;
    let rest = forecast.count.chances().iter().enumerate();
    let mut yet = vec![0.0; forecast.count.most() + 1];
    rest.for_each(|(count, chance)| yet[count.saturating_sub(off).min(remain)] += chance);
    let yet = Discrete::from_weights(yet).unwrap_or_else(|| Discrete::certain(0));
    let standing = BetaBinomial::new(forecast.standing.clamp(0.0, 1.0), UNSEEN).ok();
    thinned(&yet, standing)
}

/// What a batch brings by a day, with `ready` plants that are there already.
pub(super) fn in_hand(
    model: &Model,
    batch: &Batch,
    forecast: &Forecast,
    by: NaiveDate,
    ready: u32,
) -> (BatchInHand, Discrete) {
    let now = batch.counts_on(model.on()).unwrap_or_default();
    let silent = batch.is_silent(model.on()) && now.remain() > 0;
    let lost_sight_of = (forecast.is_lost_sight_of || silent) && now.remain() > 0;
    let per_plant = batch.stick.per_plant.unwrap_or(1).max(1);
    let from_pots = now.ready.saturating_sub(now.ready_from_bench);
    let growing = now
        .potted
        .saturating_sub(now.lost_in_pots + from_pots * per_plant);
    let (taxon, wood) = (&batch.taxon, batch.stick.wood);
    let yet = match lost_sight_of {
        true => Discrete::certain(0),
        false => on_bench(forecast, &now),
    };
    let bench = thinned(&yet, model.rest(taxon, wood, false));
    let goes_on = model.rest(taxon, wood, true);
    let pots = thinned(&Discrete::certain(growing as usize), goes_on);
    let days = (by - batch.stuck_on).num_days() as f64;
    let parts = forecast.parts_by(days, goes_on.map_or(1.0, |model| model.mu()));
    // Where the journal knows the way to the rooted cutting only, those that have rooted are there.
    let (floor, in_pots) = match model.rung() {
        Rung::Ready => (0, true),
        Rung::Potted => (0, false),
        Rung::Rooted => (now.bench[2] as usize + now.bench[3] as usize, false),
    };
    let mut plants = vec![0.0; (bench.most() + pots.most()) / per_plant as usize + 1];
    for part in &parts {
        let potted = if in_pots { part.in_pots } else { 1.0 };
        let cuttings =
            thinned_beyond(&bench, floor, part.on_bench).plus(&thinned_beyond(&pots, 0, potted));
        let each = cuttings.chances().iter().enumerate();
        each.for_each(|(count, chance)| plants[count / per_plant as usize] += chance);
    }
    let plants = Discrete::from_weights(plants).unwrap_or_else(|| Discrete::certain(0));
    let sum = plants.plus(&Discrete::certain(ready as usize));
    let whole = (bench.mean() + pots.mean()) / f64::from(per_plant);
    let one = BatchInHand {
        code: batch.code.clone(),
        ready,
        expected: sum.mean(),
        by_then: if whole > 0.0 {
            (plants.mean() / whole).min(1.0)
        } else {
            1.0
        },
        unseen_days: forecast.unseen_days,
        lost_sight_of,
        failing: !forecast.failing.is_empty(),
    };
    (one, sum)
}

/// What is wanted.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlantsWanted {
    /// The plant.
    #[serde(serialize_with = "shown")]
    pub taxon: Taxon,
    /// The wood stage, if only one will do.
    pub wood: Option<Wood>,
    /// Plants.
    pub plants: u32,
    /// On this day at the latest.
    pub by: NaiveDate,
    /// The chance that must be reached, 0 to 1.
    pub assurance: f64,
    /// The entry of the target that asks for it; absent when it was asked for directly.
    pub target: Option<Id>,
}

fn shown<S: Serializer>(taxon: &Taxon, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&taxon.shown())
}
