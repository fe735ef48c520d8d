//! Which batches a comparison sees, each as of the right day (two seasons to the same day of the year), sorted into
//! arms and strata. It tests nothing.

use super::answer::{BatchLeftOut, WhyLeftOut};
use super::options::TrialOptions;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::intervals::MilestoneAccount;
use crate::fold::selection::{ExcludedBatch, IncludedBatch, Selection, select};
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::model::text::folded;
use crate::stats::correlation::CorrelationPrior;
use chrono::{Months, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// Keys with their values.
pub(super) type Values = Vec<(GroupKey, Option<String>)>;

/// The batches that a comparison sees.
pub struct Sighting<'a> {
    /// By day of sticking and identity, each with the day up to which entries are seen.
    pub(super) counted: Vec<(IncludedBatch<'a>, Option<NaiveDate>)>,
    pub(super) skipped: Vec<ExcludedBatch>,
    /// The day to which the last season was seen, if seasons were cut to it.
    pub(super) same_day: Option<NaiveDate>,
}

impl<'a> Sighting<'a> {
    pub(super) fn new(book: &'a Book, options: &TrialOptions) -> Self {
        let whole = Self::as_of(book, &options.about);
        if options.whole_seasons || !options.split().contains(&GroupKey::Season) {
            return whole;
        }
        let counted = whole.counted.iter().map(|(item, _)| item.batch.stuck_on);
        let skipped = whole
            .skipped
            .iter()
            .filter_map(|item| book.batch(&item.key));
        let days = counted.chain(skipped.map(|batch| batch.stuck_on));
        let seasons: BTreeSet<i32> = days.map(|day| book.season(day)).collect();
        let last_entry = book.batches().iter().map(|batch| batch.last_day()).max();
        match (seasons.last(), options.about.as_of.or(last_entry)) {
            (Some(&last), Some(until)) if seasons.len() > 1 => {
                Self::to_the_day(book, &options.about, &seasons, (last, until))
            }
            _ => whole,
        }
    }

    fn as_of(book: &'a Book, question: &Selection) -> Self {
        let (counted, skipped) = select(book, question);
        Self::of_batches(counted, skipped, question.as_of)
    }

    /// The batches that count.
    pub fn batches(&self) -> impl Iterator<Item = &IncludedBatch<'a>> {
        self.counted.iter().map(|(item, _)| item)
    }

    /// Of these batches, each seen to the same day.
    pub(super) fn of_batches(
        counted: Vec<IncludedBatch<'a>>,
        skipped: Vec<ExcludedBatch>,
        as_of: Option<NaiveDate>,
    ) -> Self {
        Self {
            counted: counted.into_iter().map(|item| (item, as_of)).collect(),
            skipped,
            same_day: None,
        }
    }

    /// Each season up to the same day of its year, `until` in the last.
    fn to_the_day(
        book: &'a Book,
        about: &Selection,
        seasons: &BTreeSet<i32>,
        (last, until): (i32, NaiveDate),
    ) -> Self {
        let mut out = Self {
            counted: Vec::new(),
            skipped: Vec::new(),
            same_day: Some(until),
        };
        for &season in seasons {
            let back = Months::new(12 * last.abs_diff(season));
            let mut question: Selection = about.clone();
            question.filter.season = Some(season);
            question.as_of = until.checked_sub_months(back);
            let part = Self::as_of(book, &question);
            out.counted.extend(part.counted);
            out.skipped.extend(part.skipped);
        }
        out.counted
            .sort_by_key(|(item, _)| (item.batch.stuck_on, &item.batch.key));
        out
    }
}

/// A batch with its arm and stratum.
#[derive(Clone, Copy)]
pub(super) struct Subject<'a> {
    pub counted: &'a IncludedBatch<'a>,
    /// Entries after this day are not seen.
    pub until: Option<NaiveDate>,
    pub arm: usize,
    pub stratum: usize,
}

impl<'a> Subject<'a> {
    pub(super) fn account(&self, milestone: Milestone) -> &'a MilestoneAccount {
        self.counted.account.milestone(milestone)
    }

    pub(super) fn batch(&self) -> &'a Batch {
        self.counted.batch
    }
}

fn left_out(batch: &Batch, reason: WhyLeftOut) -> BatchLeftOut {
    BatchLeftOut {
        batch: batch.code.clone(),
        id: batch.key.clone(),
        reason,
    }
}

/// All batches in their arms and strata.
pub(super) struct Table<'a> {
    pub book: &'a Book,
    pub options: &'a TrialOptions,
    pub arms: Vec<Values>,
    pub strata: Vec<Values>,
    /// The keys of the strata.
    pub within: Vec<GroupKey>,
    /// How alike cuttings of one batch are in the whole journal, by milestone.
    pub correlations: [CorrelationPrior; 3],
    pub subjects: Vec<Subject<'a>>,
    left: Vec<BatchLeftOut>,
}

impl<'a> Table<'a> {
    /// The arms of a declared trial are ways chosen whole: where they never meet within a wood stage, wood is one of
    /// the things in which they differ, and they are compared within the taxon.
    pub(super) fn new(
        book: &'a Book,
        sighting: &'a Sighting<'a>,
        options: &'a TrialOptions,
    ) -> Self {
        let within = options.strata();
        let table = Self::within(book, sighting, options, within.clone());
        let declared = options.split() == [GroupKey::Arm];
        let wood_asked = options.within.contains(&GroupKey::Wood);
        if !declared || wood_asked || table.has_meeting() {
            return table;
        }
        let whole = within.into_iter().filter(|key| *key != GroupKey::Wood);
        Self::within(book, sighting, options, whole.collect())
    }

    fn has_meeting(&self) -> bool {
        let mut subjects = self.subjects.clone();
        self.take_out_alone(&mut subjects, &mut Vec::new());
        !subjects.is_empty()
    }

    fn within(
        book: &'a Book,
        sighting: &'a Sighting<'a>,
        options: &'a TrialOptions,
        within: Vec<GroupKey>,
    ) -> Self {
        let split = options.split();
        let of_all_figures = |item: &ExcludedBatch| BatchLeftOut {
            batch: item.batch.clone(),
            id: item.key.clone(),
            reason: WhyLeftOut::OfAllFigures {
                why: item.reason.clone(),
            },
        };
        let mut left: Vec<BatchLeftOut> = sighting.skipped.iter().map(of_all_figures).collect();
        let mut placed = Vec::new();
        for (counted, until) in &sighting.counted {
            let values = values_of(book, counted.batch, &split);
            match values.iter().find(|(_, value)| value.is_none()) {
                Some(&(key, _)) => {
                    left.push(left_out(counted.batch, WhyLeftOut::NotRecorded { key }));
                }
                None => placed.push((counted, *until, values)),
            }
        }
        let (arms, arm_of) = numbered(placed.iter().map(|(.., values)| values.clone()));
        let strata = placed
            .iter()
            .map(|(counted, ..)| values_of(book, counted.batch, &within));
        let (strata, stratum_of) = numbered(strata);
        let numbers = arm_of.into_iter().zip(stratum_of);
        let subjects = placed
            .iter()
            .zip(numbers)
            .map(|(&(counted, until, _), (arm, stratum))| Subject {
                counted,
                until,
                arm,
                stratum,
            });
        Self {
            book,
            options,
            subjects: subjects.collect(),
            arms,
            strata,
            within,
            correlations: [CorrelationPrior::UNINFORMED; 3],
            left,
        }
    }

    /// The batches left out for this milestone and those left out of all, in order.
    pub(super) fn all_left_out(&self, mut left: Vec<BatchLeftOut>) -> Vec<BatchLeftOut> {
        left.extend(self.left.iter().cloned());
        let day = |id: &Id| self.book.batch(id).map(|batch| batch.stuck_on);
        left.sort_by_cached_key(|item| (day(&item.id), item.id.clone()));
        left
    }

    /// Takes out the batches of strata with one arm only.
    pub(super) fn take_out_alone(
        &self,
        subjects: &mut Vec<Subject<'a>>,
        left: &mut Vec<BatchLeftOut>,
    ) {
        let mut met: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        for it in subjects.iter() {
            met.entry(it.stratum).or_default().insert(it.arm);
        }
        take_out(subjects, left, |it| {
            let alone = met.get(&it.stratum).is_none_or(|arms| arms.len() < 2);
            alone.then(|| WhyLeftOut::Alone {
                arm: name_of(&self.arms[it.arm]),
                stratum: name_of(&self.strata[it.stratum]),
            })
        });
    }
}

/// Moves the batches for which there is a reason from `subjects` to `left`.
pub(super) fn take_out<'a>(
    subjects: &mut Vec<Subject<'a>>,
    left: &mut Vec<BatchLeftOut>,
    mut reason: impl FnMut(&Subject<'a>) -> Option<WhyLeftOut>,
) {
    subjects.retain(|it| match reason(it) {
        Some(reason) => {
            left.push(left_out(it.batch(), reason));
            false
        }
        None => true,
    });
}

fn values_of(book: &Book, batch: &Batch, keys: &[GroupKey]) -> Values {
    let each = keys.iter();
    each.map(|&key| (key, key.value_for(book, batch))).collect()
}

/// Values in words, without what was not recorded.
pub(super) fn name_of(values: &Values) -> String {
    let each = values.iter().filter_map(|(_, value)| value.as_deref());
    each.collect::<Vec<_>>().join(", ")
}

/// The distinct values in order, and for each of those given its number among them. The first
/// spelling stands for all.
fn numbered(all: impl Iterator<Item = Values>) -> (Vec<Values>, Vec<usize>) {
    let all: Vec<(Vec<String>, Values)> = all.map(|values| (rank(&values), values)).collect();
    let mut distinct: BTreeMap<&Vec<String>, &Values> = BTreeMap::new();
    for (rank, values) in &all {
        distinct.entry(rank).or_insert(values);
    }
    let places: BTreeMap<&Vec<String>, usize> = distinct.keys().copied().zip(0..).collect();
    let numbers = all.iter().map(|(rank, _)| places.get(rank).copied());
    let numbers = numbers.map(Option::unwrap_or_default).collect();
    (
        distinct.values().map(|&values| values.clone()).collect(),
        numbers,
    )
}

/// What values are sorted by: wood as it ripens, all else by letters; not recorded last.
fn rank(values: &Values) -> Vec<String> {
    let one = |(key, value): &(GroupKey, Option<String>)| {
        let Some(value) = value else {
            return "\u{10ffff}".to_owned();
        };
        let wood = || Wood::ALL.iter().position(|wood| wood.word() == value);
        match key {
            GroupKey::Wood => wood().map_or_else(String::new, |at| at.to_string()),
            _ => folded(value),
        }
    };
    values.iter().map(one).collect()
}

/// A way of telling batches apart, with two arms or more that meet within a taxon.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Split {
    /// The trial whose arms they are; none for a key.
    pub trial: Option<String>,
    /// What tells the arms apart.
    pub by: GroupKey,
    /// The arms, as a comparison orders them, each with its batches that meet another arm's.
    pub arms: Vec<(String, usize)>,
    /// Strata within which arms meet.
    pub strata: usize,
}

/// Keys by which batches are commonly compared, the commonest questions first.
const COMMON: [GroupKey; 9] = [
    GroupKey::Wood,
    GroupKey::Season,
    GroupKey::Place,
    GroupKey::Cover,
    GroupKey::Hormone,
    GroupKey::Medium,
    GroupKey::Cut,
    GroupKey::Piece,
    GroupKey::Source,
];

/// What can be compared among the batches meant: trials, the latest first, then by keys. Batches count as in
/// a comparison; whether they were followed for long enough shows there.
#[must_use]
pub fn splits(book: &Book, about: &Selection) -> Vec<Split> {
    let (counted, _) = select(book, about);
    let mut trials: BTreeMap<String, Vec<IncludedBatch>> = BTreeMap::new();
    let mut order = Vec::new();
    for it in counted.iter().rev() {
        let Some(name) = GroupKey::Trial.value_for(book, it.batch) else {
            continue;
        };
        let mine = trials.entry(name.clone()).or_default();
        if mine.is_empty() {
            order.push(name);
        }
        mine.push(it.clone());
    }
    let of_trials = order.into_iter().filter_map(|name| {
        let mine = Sighting::of_batches(trials.remove(&name)?, Vec::new(), None);
        split(book, &mine, Some(name), GroupKey::Arm)
    });
    let mut out: Vec<Split> = of_trials.collect();
    let all = Sighting::of_batches(counted, Vec::new(), None);
    out.extend(
        COMMON
            .iter()
            .filter_map(|&key| split(book, &all, None, key)),
    );
    out
}

fn split(book: &Book, sighting: &Sighting, trial: Option<String>, by: GroupKey) -> Option<Split> {
    let options = TrialOptions {
        by: vec![by],
        ..TrialOptions::default()
    };
    let table = Table::new(book, sighting, &options);
    let mut subjects = table.subjects.clone();
    table.take_out_alone(&mut subjects, &mut Vec::new());
    let batches = |arm: usize| subjects.iter().filter(|it| it.arm == arm).count();
    let arms = table.arms.iter().enumerate();
    let arms = arms.map(|(at, values)| (name_of(values), batches(at)));
    let arms: Vec<(String, usize)> = arms.filter(|(_, count)| *count > 0).collect();
    let strata: BTreeSet<usize> = subjects.iter().map(|it| it.stratum).collect();
    (arms.len() > 1).then_some(Split {
        trial,
        by,
        arms,
        strata: strata.len(),
    })
}
