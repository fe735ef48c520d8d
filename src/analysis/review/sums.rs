//! What a review is asked for, and a season's counts: the whole, each taxon at each wood stage, what was wanted by a day.
//! It compares nothing.

use crate::analysis::expect::{ExpectedShare, Model};
use crate::analysis::timeline::{
    Figure, Missing, ReachedShare, Timeline, TimelineOptions, timeline,
};
use crate::fold::Book;
use crate::fold::batch::{Batch, BatchCounts};
use crate::fold::selection::Selection;
use crate::model::composite::Lost;
use crate::model::entry::{Ready, Target};
use crate::model::filter::{Filter, GroupKey};
use crate::model::listed::Wood;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// What was stuck and what came of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct BatchSums {
    /// Batches stuck; parts that left one are not counted again.
    pub batches: usize,
    /// Cuttings stuck.
    pub stuck: u32,
    /// How many of these rooted on the bench or moved on (potted, or ready straight from the bench).
    pub rooted: u32,
    /// Moved on: potted, or ready straight from the bench.
    pub potted: u32,
    /// Still on the bench.
    pub remain: u32,
    /// Lost on the bench, by cause.
    pub lost: Lost,
    /// Given up on the bench, for no cause of loss.
    pub given_up: u32,
    /// Lost in pots.
    pub lost_in_pots: u32,
    /// Plants counted ready.
    pub ready: u32,
    /// Plants sold.
    pub sold: u32,
}

impl BatchSums {
    fn add(&mut self, batch: &Batch, counts: &BatchCounts) {
        let moved_on = counts.potted + counts.finished_on_bench;
        self.batches += usize::from(batch.parent.is_none());
        self.stuck += counts.stuck;
        self.rooted += counts.bench[2] + counts.bench[3] + moved_on;
        self.potted += moved_on;
        self.remain += counts.remain();
        self.given_up += counts.given_up;
        self.lost_in_pots += counts.lost_in_pots;
        self.ready += counts.ready;
        self.sold += counts.sold;
        for (cause, n) in counts.lost.each() {
            self.lost.add(cause, n);
        }
    }

    /// Rooted or moved on, of those stuck: 0 to 1; nothing if none was stuck.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        (self.stuck > 0).then(|| f64::from(self.rooted) / f64::from(self.stuck))
    }
}

/// A taxon at a wood stage.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KindReview {
    /// The taxon as it is shown.
    pub taxon: String,
    /// Its key.
    #[serde(skip)]
    pub key: String,
    /// The wood stage, if recorded.
    pub wood: Option<Wood>,
    /// Counts.
    #[serde(rename = "sums")]
    pub sum: BatchSums,
    /// The share that rooted of those stuck in the season, by the curve of their looks, with how sure it is.
    pub strike: Figure<ReachedShare>,
    /// The share that rooted of all stuck up to the season's end, with how sure it is.
    pub strike_so_far: Figure<ReachedShare>,
    /// The share expected to root of the next batch; absent in a journal too young to tell.
    #[serde(rename = "expect")]
    pub expected: Option<ExpectedShare>,
}

/// Plants wanted by a day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TargetProgress {
    /// The taxon as it is shown.
    pub taxon: String,
    /// The wood stage, if one was named.
    pub wood: Option<Wood>,
    /// How many plants are wanted.
    pub count: u32,
    /// The day by which they are wanted.
    #[serde(rename = "by_date")]
    pub by: NaiveDate,
    /// Plants counted ready from the season's first day to that day, or to the day of the review if that is earlier.
    pub ready: u32,
    /// Cuttings of it stuck in the season.
    pub stuck: u32,
    /// The day on which as many were ready, if that has come.
    pub met_on: Option<NaiveDate>,
    /// Whether the day wanted is over.
    pub over: bool,
}

/// The season's batches as they stood.
pub(super) struct SeasonBatches {
    batches: Vec<Arc<Batch>>,
}

impl SeasonBatches {
    pub(super) fn new(book: &Book, options: &ReviewOptions) -> Self {
        let filter = in_season(options);
        let mut batches = book.batches_on(options.as_of);
        let admits = filter.within(book);
        batches.retain(|batch| admits(batch));
        Self { batches }
    }

    fn sum<'a>(batches: impl Iterator<Item = &'a Arc<Batch>>) -> BatchSums {
        batches.fold(BatchSums::default(), |mut sum, batch| {
            sum.add(batch, &batch.counts);
            sum
        })
    }

    pub(super) fn whole(&self) -> BatchSums {
        Self::sum(self.batches.iter())
    }

    pub(super) fn taxa(&self) -> usize {
        let keys: BTreeSet<String> = self.batches.iter().map(|b| b.taxon.key()).collect();
        keys.len()
    }
}

/// The batches of the season that are meant.
fn in_season(options: &ReviewOptions) -> Filter {
    Filter {
        season: Some(options.season),
        ..options.filter.clone()
    }
}

/// Each taxon at each wood stage, by name, then ripeness, `to` being the season's last day; `None` only if stopped,
/// which it never is.
pub(super) fn kinds(
    book: &Book,
    options: &ReviewOptions,
    seen: &SeasonBatches,
    (model, to): (&Model, NaiveDate),
) -> Option<Vec<KindReview>> {
    let so_far = Filter {
        season: None,
        until: Some(options.filter.until.map_or(to, |until| until.min(to))),
        ..options.filter.clone()
    };
    let season = by_kind(book, &by_wood(book, options, in_season(options))?);
    let so_far = by_kind(book, &by_wood(book, options, so_far)?);
    let mut kinds: BTreeMap<(String, Option<Wood>), Vec<&Arc<Batch>>> = BTreeMap::new();
    for batch in &seen.batches {
        let kind = (batch.taxon.key(), batch.stick.wood);
        kinds.entry(kind).or_default().push(batch);
    }
    let kind = |((key, wood), batches): ((String, Option<Wood>), Vec<&Arc<Batch>>)| KindReview {
        taxon: batches
            .first()
            .map_or_else(String::new, |b| b.taxon.shown()),
        sum: SeasonBatches::sum(batches.iter().copied()),
        strike: strike(&season, &key, wood),
        strike_so_far: strike(&so_far, &key, wood),
        expected: batches
            .first()
            .and_then(|batch| model.expected_share(&batch.taxon, wood)),
        key,
        wood,
    };
    Some(kinds.into_iter().map(kind).collect())
}

/// The shares that rooted of the batches admitted, by taxon and wood stage.
fn by_wood(book: &Book, options: &ReviewOptions, filter: Filter) -> Option<Timeline> {
    let asked = TimelineOptions {
        about: Selection {
            filter,
            again: false,
            as_of: Some(options.as_of),
        },
        by: vec![GroupKey::Wood],
        resamples: 0,
        ..TimelineOptions::default()
    };
    timeline(book, &asked, &mut |_, _| true)
}

/// The shares that rooted by a taxon's key and wood stage.
type Strikes = HashMap<(String, Option<String>), Figure<ReachedShare>>;

fn by_kind(book: &Book, shares: &Timeline) -> Strikes {
    let mut out = Strikes::new();
    for group in &shares.groups {
        let wood = group.by.first().and_then(|(_, wood)| wood.clone());
        let key = book.taxa().resolve(&group.taxon).key();
        out.entry((key, wood)).or_insert(group.strike);
    }
    out
}

/// The share of a kind; missing as never examined where all its batches are left out of the figures.
fn strike(shares: &Strikes, key: &str, wood: Option<Wood>) -> Figure<ReachedShare> {
    let wood = wood.map(|wood| wood.word().to_owned());
    let found = shares.get(&(key.to_owned(), wood));
    found.map_or(Figure::Missing(Missing::NotExamined), |strike| *strike)
}

/// What was wanted by a day of the season, by day, then taxon; the last word on a taxon, wood and day stands.
pub(super) fn planned(
    book: &Book,
    options: &ReviewOptions,
    seen: &SeasonBatches,
    [from, to]: [NaiveDate; 2],
) -> Vec<TargetProgress> {
    let until = options.as_of;
    let mut wanted: BTreeMap<(NaiveDate, String, Option<Wood>), TargetProgress> = BTreeMap::new();
    for standing in book.targets().filter(|s| s.entry.at.day() <= until) {
        let Some(it) = standing.entry.get::<Target>() else {
            continue;
        };
        let taxon = book.taxa().resolve(&it.taxon);
        let is_meant = options.filter.taxon.as_ref();
        let is_meant = is_meant.is_none_or(|text| book.taxa().is_meant(text, &taxon));
        if it.by_date < from || it.by_date > to || !is_meant {
            continue;
        }
        let of_kind = |batch: &Batch| {
            batch.taxon.key() == taxon.key() && it.wood.is_none_or(|w| batch.stick.wood == Some(w))
        };
        let sources = book.batches().iter();
        let sources: Vec<&Batch> = sources
            .map(AsRef::as_ref)
            .filter(|batch| batch.stuck_on <= to && of_kind(batch))
            .collect();
        let ready = |day| {
            sources
                .iter()
                .map(|b| ready_between(b, from, day))
                .sum::<u32>()
        };
        let mut days: Vec<NaiveDate> = sources.iter().flat_map(|b| ready_days(b)).collect();
        days.sort_unstable();
        let met = |day: &NaiveDate| *day >= from && *day <= until && ready(*day) >= it.count;
        let stuck = seen.batches.iter().filter(|batch| of_kind(batch));
        wanted.insert(
            (it.by_date, taxon.key(), it.wood),
            TargetProgress {
                taxon: taxon.shown(),
                wood: it.wood,
                count: it.count,
                by: it.by_date,
                ready: ready(it.by_date.min(until)),
                stuck: stuck.map(|batch| batch.counts.stuck).sum(),
                met_on: days.into_iter().find(met),
                over: until >= it.by_date,
            },
        );
    }
    wanted.into_values().collect()
}

/// The days on which plants of a batch were counted ready.
fn ready_days(batch: &Batch) -> impl Iterator<Item = NaiveDate> {
    let ready = batch.events.iter();
    let ready = ready.filter(|event| event.entry.is::<Ready>());
    ready.map(|event| event.entry.at.day())
}

/// Plants of a batch counted ready from one day to another.
fn ready_between(batch: &Batch, from: NaiveDate, to: NaiveDate) -> u32 {
    let day_before = from.pred_opt().unwrap_or(from);
    let ready = |day| batch.counts_on(day).map_or(0, |counts| counts.ready);
    ready(to).saturating_sub(ready(day_before))
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct ReviewOptions {
    /// The season: the nursery's year of sticking.
    pub season: i32,
    /// The day at whose end the journal is read.
    pub as_of: NaiveDate,
    /// The batches meant; its season is left aside.
    pub filter: Filter,
    /// Arrangements drawn for a comparison when there are too many to look at all.
    pub draws: usize,
    /// Seed of the drawing.
    pub seed: u64,
}

impl ReviewOptions {
    /// All of a season as it stood that day.
    #[must_use]
    pub fn new(season: i32, as_of: NaiveDate) -> Self {
        Self {
            season,
            as_of,
            filter: Filter::default(),
            draws: crate::stats::permute::DRAWS,
            seed: 1,
        }
    }
}
