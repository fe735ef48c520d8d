//! When a batch wants its next look, or potting: by its own looks, by history, by common practice. It
//! gathers no list.

use super::reason::{AT_BOTTOM, FIRST, POTTING, ROOTED, SETTLE};
use super::reason::{DueReason, FirstLookBasis, Request};
use crate::analysis::expect::practice::{first_look, practice};
use crate::analysis::expect::{ExpectedDay, ExpectedDays};
use crate::fold::batch::Milestone;
use crate::fold::batch::{Batch, Inspection, forebears};
use crate::model::id::Id;
use crate::model::text::folded;
use chrono::{Days, NaiveDate};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// A day of a batch's life.
fn day_of(batch: &Batch, age: u32) -> NaiveDate {
    let day = batch.stuck_on.checked_add_days(Days::new(age.into()));
    day.unwrap_or(NaiveDate::MAX)
}

/// Its looks, in order.
fn looks(batch: &Batch) -> impl DoubleEndedIterator<Item = &Inspection> {
    batch.inspections.iter().filter(|it| it.how.is_some())
}

/// The day of its last look.
pub(super) fn last(batch: &Batch) -> Option<NaiveDate> {
    looks(batch).next_back().map(|look| look.day)
}

/// When parts were last looked at with the batches that they were split from, by their keys; those that never were
/// are left out.
pub(super) fn before_split(batches: &[Arc<Batch>]) -> HashMap<Id, NaiveDate> {
    let by_key: HashMap<&Id, &Batch> = batches.iter().map(|b| (&b.key, b.as_ref())).collect();
    let seen = |part: &Batch| {
        let mut split = part.events.first()?.entry.at.day();
        let found = |id: &Id| by_key.get(id).copied();
        forebears(part, batches.len(), found).find_map(|parent| {
            let look = looks(parent).rev().find(|look| look.day <= split);
            // Of what its parent was split from, the looks before that.
            split = parent
                .events
                .first()
                .map_or(split, |event| event.entry.at.day());
            Some(look?.day)
        })
    };
    let parts = batches.iter().filter(|batch| batch.part.is_some());
    parts
        .filter_map(|part| Some((part.key.clone(), seen(part)?)))
        .collect()
}

/// The first look at a batch, if there was none. `said` is the day that the journal states for its taxon; `before` is the
/// day of a look at the batch that a part was split from.
pub(super) fn first(
    batch: &Batch,
    said: Option<u32>,
    history: Option<&ExpectedDays>,
    before: Option<NaiveDate>,
) -> Option<Request> {
    if before.is_some() || looks(batch).next().is_some() {
        return None;
    }
    let known = history.and_then(|it| Some((it.age(Milestone::Root, 10)?, it.batches)));
    let usual = first_look(batch.stick.wood, batch.cover, batch.heat);
    let (age, basis) = match (said, known) {
        (Some(age), _) => (age, FirstLookBasis::Taxon),
        (None, Some((p10_day, batches))) => {
            let [earliest, latest] = FIRST;
            let at = p10_day.clamp(earliest, latest.max(usual));
            (at, FirstLookBasis::Expected { p10_day, batches })
        }
        (None, None) => (usual, FirstLookBasis::CommonPractice),
    };
    Some(Request::on(
        day_of(batch, age),
        DueReason::First {
            age,
            wood: batch.stick.wood,
            basis,
        },
    ))
}

/// The next look after the last one, if there was one.
pub(super) fn next(
    batch: &Batch,
    on: NaiveDate,
    history: Option<&ExpectedDays>,
    before: Option<NaiveDate>,
) -> Option<Request> {
    let custom = practice(batch.stick.wood);
    let Some(last) = looks(batch).next_back() else {
        return parted(batch, before?, custom.again);
    };
    let after = |days: u32| last.age.saturating_add(days);
    let [bare, callused, _, bottom] = batch.counts.bench;
    let (remain, waiting) = (batch.counts.remain(), bare + callused);
    let overdue = |milestone, waiting| {
        let past = history.and_then(|it| Some((it.age(milestone, 90)?, it.batches)));
        let (age, batches) = past.filter(|(age, _)| last_seen(batch, milestone) >= *age)?;
        let reason = DueReason::Overdue {
            milestone,
            age,
            batches,
            waiting,
            of: remain,
            seen: last.day,
        };
        (waiting > 0).then(|| Request::on(day_of(batch, after(custom.again)), reason))
    };
    let stragglers = overdue(Milestone::Root, waiting);
    // A few that hang back are decided on when the others are potted.
    let most = waiting * 2 >= remain;
    if let (Some(wish), true) = (&stragglers, most) {
        return Some(wish.clone());
    }
    let expected = history.and_then(|it| expected(batch, it, on));
    let Some((by, first)) = expected else {
        let late = overdue(Milestone::Bottom, remain - bottom).or(stragglers);
        return Some(late.unwrap_or_else(|| {
            let reason = DueReason::Interval {
                days: custom.again,
                seen: last.day,
                known: false,
            };
            Request::on(day_of(batch, after(custom.again)), reason)
        }));
    };
    let age = first.age.max(after(SETTLE));
    let (age, reason) = match age <= after(custom.longest) {
        true => (
            age,
            DueReason::Expected {
                by,
                first: (age < by.age).then_some(first),
                batches: history.map_or(0, |it| it.batches),
                seen: last.day,
            },
        ),
        false => (
            after(custom.longest),
            DueReason::Interval {
                days: custom.longest,
                seen: last.day,
                known: true,
            },
        ),
    };
    Some(Request::on(day_of(batch, age), reason))
}

/// The first look at a part that was looked at before it was split off: so many days after that.
fn parted(batch: &Batch, seen: NaiveDate, days: u32) -> Option<Request> {
    batch.part.as_ref()?;
    let on = seen.checked_add_days(Days::new(days.into()))?;
    let known = false;
    Some(Request::on(on, DueReason::Interval { days, seen, known }))
}

/// The milestone expected that says most, and the first one not examined since.
fn expected(
    batch: &Batch,
    history: &ExpectedDays,
    on: NaiveDate,
) -> Option<(ExpectedDay, ExpectedDay)> {
    let [bare, callused, _, _] = batch.counts.bench;
    let today = u32::try_from((on - batch.stuck_on).num_days()).unwrap_or(0);
    let is_ahead = |by: &&ExpectedDay| {
        let wanted = by.milestone != Milestone::Root || bare + callused > 0;
        wanted && by.age > last_seen(batch, by.milestone)
    };
    let mut ahead = history.days.iter().filter(is_ahead);
    let first = *ahead.next()?;
    // What has come due since says more than what came first.
    let last = ahead.take_while(|by| by.age <= today).last();
    Some((last.copied().unwrap_or(first), first))
}

/// The age at which a milestone was last examined; 0 if never.
fn last_seen(batch: &Batch, milestone: Milestone) -> u32 {
    let examined = |it: &&Inspection| {
        let tally = it.tally.as_ref();
        tally.is_some_and(|tally| milestone.counted(tally).is_some())
    };
    let found = batch.inspections.iter().rev().find(examined);
    found.map_or(0, |it| it.age)
}

/// Whether it is ready for potting by its last count.
pub(super) fn pot(batch: &Batch, celled: &HashSet<String>) -> Option<Request> {
    let remain = batch.counts.remain();
    let counted = batch.inspections.iter().rev().find(|it| it.tally.is_some());
    let counted = counted.filter(|_| remain > 0)?;
    let [_, _, rooted, bottom] = batch.counts.bench;
    let enough = |n: u32, share: f64| n > 0 && f64::from(n) >= share * f64::from(remain);
    let (milestone, ready) = if enough(bottom, AT_BOTTOM) {
        (Milestone::Bottom, bottom)
    } else if is_open_tray(batch, celled) && enough(rooted + bottom, ROOTED) {
        (Milestone::Root, rooted + bottom)
    } else {
        return None;
    };
    let reason = DueReason::Pot {
        milestone,
        ready,
        of: remain,
        seen: counted.day,
    };
    let late_after = counted.day.checked_add_days(Days::new(POTTING as u64));
    Some(Request {
        late_after: late_after.unwrap_or(NaiveDate::MAX),
        ..Request::on(counted.day, reason)
    })
}

/// The containers, as compared, in which roots at the bottom were ever counted: they have cells, whatever
/// they are called.
pub(super) fn celled<'a>(batches: impl Iterator<Item = &'a Batch>) -> HashSet<String> {
    let at_bottom = |it: &Inspection| it.tally.is_some_and(|t| t.bottom.is_some_and(|n| n > 0));
    let with = batches.filter(|batch| batch.inspections.iter().any(at_bottom));
    let names = with.filter_map(|batch| batch.stick.container.as_deref());
    names.map(folded).collect()
}

/// Whether a batch stands in an open tray: one called a tray, a flat or a pan, of cells neither by its
/// name nor by what was ever counted in its like.
fn is_open_tray(batch: &Batch, celled: &HashSet<String>) -> bool {
    let Some(name) = batch.stick.container.as_deref().map(folded) else {
        return false;
    };
    let says = |words: &[&str]| words.iter().any(|word| name.contains(word));
    let has_cells = says(&["cell", "plug", "module"]) || celled.contains(&name);
    says(&["tray", "flat", "pan"]) && !has_cells
}
