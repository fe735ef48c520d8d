//! Which batches a comparison judges: as they ended, by their age alone, or by a day to which enough of them were
//! watched; and the age from which a batch counts as ended. It compares nothing.

use super::answer::{Basis, BatchLeftOut, WhyLeftOut};
use super::table::{Subject, Table, take_out};
use crate::analysis::expect::MilestoneTimes;
use crate::fold::Book;
use crate::fold::batch::{Batch, Milestone};
use crate::fold::intervals::{IntervalStatus, MilestoneAccount};
use crate::model::listed::Wood;
use crate::model::text::place_key;
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap};

/// Slack in sums of cuttings.
pub(super) const SLACK: f64 = 1e-9;

/// What part of each arm's batches must be judged, and how many at least (our own rule).
const ENOUGH: f64 = 0.8;
const FEWEST: usize = 2;

/// What part of those that reach the milestone must be expected to have before a batch is judged as it ended.
const MOST: f64 = 0.95;

/// What a comparison is made of.
pub(super) struct Ground<'a> {
    pub milestone: Milestone,
    pub basis: Basis,
    /// The batches whose shares are compared.
    pub judged: Vec<Subject<'a>>,
    /// Those judged as they ended, whatever the basis: their days are compared.
    pub ended: Vec<Subject<'a>>,
    /// All that were examined in strata where arms meet.
    pub watched: Vec<Subject<'a>>,
    /// The age at which batches are judged as they ended, by stratum.
    pub judged_from: Vec<Option<u32>>,
    /// How many batches are too young for that, by arm.
    pub too_young: Vec<usize>,
    pub left: Vec<BatchLeftOut>,
}

/// Takes out what cannot be compared and settles by what the rest is.
pub(super) fn ground<'a>(
    table: &Table<'a>,
    looks: &mut LastLooks<'a>,
    expected: &MilestoneTimes,
    milestone: Milestone,
) -> Ground<'a> {
    let mut left = Vec::new();
    let mut watched = table.subjects.clone();
    take_out(&mut watched, &mut left, |it| {
        let account = it.account(milestone);
        let waiting = account.not_followed_to(u32::MAX) > 0.0;
        (waiting && !account.examined).then_some(WhyLeftOut::NotExamined)
    });
    table.take_out_alone(&mut watched, &mut left);
    let judged_from = slowest(table, &watched, expected, milestone);
    let ended = Part::as_they_ended(table, &watched, looks, &judged_from, milestone);
    let mut too_young = vec![0; table.arms.len()];
    for it in &watched {
        let young = ended.left.iter().any(|left| {
            left.id == it.batch().key && matches!(left.reason, WhyLeftOut::TooYoung { .. })
        });
        too_young[it.arm] += usize::from(young);
    }
    let by_day = match table.options.by_day {
        Some(day) => Some((day, true)),
        None if enough(table, &watched, &ended.judged) => None,
        None => last_day_for_enough(table, &watched, looks, milestone).map(|day| (day, false)),
    };
    let (basis, part) = match by_day {
        None if watched.is_empty() => (Basis::Nothing, ended.clone()),
        None => (Basis::AsTheyEnded, ended.clone()),
        Some((day, asked)) => {
            let part = Part::by_day(table, &watched, looks, day, milestone);
            (Basis::ByDay { day, asked }, part)
        }
    };
    left.extend(part.left);
    let basis = if part.judged.is_empty() {
        Basis::Nothing
    } else {
        basis
    };
    Ground {
        milestone,
        basis,
        judged: part.judged,
        ended: ended.judged,
        watched,
        judged_from,
        too_young,
        left,
    }
}

/// The batches judged, and the others with the reason.
#[derive(Clone)]
struct Part<'a> {
    judged: Vec<Subject<'a>>,
    left: Vec<BatchLeftOut>,
}

impl<'a> Part<'a> {
    /// Those old enough by the last look at their place, closed or watched for long enough.
    fn as_they_ended(
        table: &Table<'a>,
        watched: &[Subject<'a>],
        looks: &mut LastLooks<'a>,
        judged_from: &[Option<u32>],
        milestone: Milestone,
    ) -> Self {
        let (mut judged, mut left) = (watched.to_vec(), Vec::new());
        take_out(&mut judged, &mut left, |it| {
            let Some(from) = judged_from[it.stratum] else {
                return Some(WhyLeftOut::TooFewEnded);
            };
            let age = looks.age(it);
            let account = it.account(milestone);
            if age < from {
                return Some(WhyLeftOut::TooYoung {
                    age,
                    judged_from: from,
                });
            }
            if !it.counted.account.is_closed() && !is_followed(account, from) {
                return Some(WhyLeftOut::NotLookedAtLateEnough { judged_from: from });
            }
            let taken =
                account.not_followed_to(from) >= f64::from(it.counted.account.stuck) - SLACK;
            taken.then_some(WhyLeftOut::TakenAway)
        });
        table.take_out_alone(&mut judged, &mut left);
        Self { judged, left }
    }

    /// Those watched to the day since sticking.
    fn by_day(
        table: &Table<'a>,
        watched: &[Subject<'a>],
        looks: &mut LastLooks<'a>,
        day: u32,
        milestone: Milestone,
    ) -> Self {
        let (mut judged, mut left) = (watched.to_vec(), Vec::new());
        take_out(&mut judged, &mut left, |it| {
            if watched_to(it, looks, milestone) < day {
                return Some(WhyLeftOut::NotFollowed { to: day });
            }
            let stuck = f64::from(it.counted.account.stuck);
            let taken = it.account(milestone).not_followed_to(day) >= stuck - SLACK;
            taken.then_some(WhyLeftOut::TakenAway)
        });
        table.take_out_alone(&mut judged, &mut left);
        Self { judged, left }
    }
}

/// For each stratum the expected day of its slowest arm; none if one of its arms has none.
fn slowest(
    table: &Table,
    watched: &[Subject],
    expected: &MilestoneTimes,
    milestone: Milestone,
) -> Vec<Option<u32>> {
    let mut out: Vec<Option<Option<u32>>> = vec![None; table.strata.len()];
    let mut kinds: HashMap<(String, Option<Wood>), Option<u32>> = HashMap::new();
    for it in watched {
        let (taxon, wood) = (&it.batch().taxon, it.batch().stick.wood);
        let day = *kinds
            .entry((taxon.key(), wood))
            .or_insert_with(|| expected.day_by(taxon, wood, milestone, MOST));
        let known = out[it.stratum].get_or_insert(day);
        *known = known.zip(day).map(|(known, day)| known.max(day));
    }
    out.into_iter().map(Option::flatten).collect()
}

fn batches_by_arm(table: &Table, subjects: &[Subject]) -> Vec<usize> {
    let mut out = vec![0; table.arms.len()];
    for it in subjects {
        out[it.arm] += 1;
    }
    out
}

/// Whether enough of each arm's batches are judged for their end to stand for the arm. An arm of one batch needs
/// no more than that.
fn enough(table: &Table, watched: &[Subject], judged: &[Subject]) -> bool {
    let (all, judged) = (
        batches_by_arm(table, watched),
        batches_by_arm(table, judged),
    );
    let mut arms = all.iter().zip(judged).filter(|(all, _)| **all > 0);
    arms.all(|(&all, judged)| {
        judged >= FEWEST.min(all) && judged as f64 >= ENOUGH * all as f64 - SLACK
    })
}

/// H: the largest day to which enough of each arm's batches are watched.
fn last_day_for_enough<'a>(
    table: &Table<'a>,
    watched: &[Subject<'a>],
    looks: &mut LastLooks<'a>,
    milestone: Milestone,
) -> Option<u32> {
    let mut days: Vec<Vec<u32>> = vec![Vec::new(); table.arms.len()];
    for it in watched {
        // A batch at which nobody looked stands in no figure, so it holds no day back.
        let day = watched_to(it, looks, milestone);
        if day > 0 {
            days[it.arm].push(day);
        }
    }
    let arms = days.into_iter().filter(|arm| !arm.is_empty());
    let each = arms.map(|mut arm| {
        arm.sort_unstable_by(|a, b| b.cmp(a));
        let needed = (ENOUGH * arm.len() as f64 - SLACK).ceil() as usize;
        arm[needed.clamp(1, arm.len()) - 1]
    });
    each.min()
}

/// The last day since sticking to which a batch was watched: a closed one to the last look at its place.
fn watched_to<'a>(it: &Subject<'a>, looks: &mut LastLooks<'a>, milestone: Milestone) -> u32 {
    if it.counted.account.is_closed() {
        return looks.age(it);
    }
    let account = it.account(milestone);
    let waiting = account
        .pieces
        .iter()
        .filter(|piece| piece.status == IntervalStatus::NotYet);
    let mut waiting = waiting.peekable();
    if waiting.peek().is_none() {
        // All have rooted or died, though some still stand there: nothing more can come of it.
        return looks.age(it);
    }
    let days = waiting
        .map(|piece| piece.left)
        .filter(|&day| is_followed(account, day));
    days.max().unwrap_or(0)
}

/// Whether the cuttings on the bench were followed to the day.
fn is_followed(account: &MilestoneAccount, day: u32) -> bool {
    let short = account.not_followed_to(day);
    let waiting = account
        .pieces
        .iter()
        .filter(|piece| piece.status == IntervalStatus::NotYet && piece.left >= day);
    let long: f64 = waiting.map(|piece| piece.weight).sum();
    let watched = account.watched;
    // Cuttings taken away while they waited are not yet, too; they do not stand for those watched.
    watched <= SLACK || short + SLACK < watched || long + SLACK >= watched
}

/// The last day on which anyone looked at each place. Where nothing stands on the bench any more nobody can look, so
/// the last look anywhere counts.
#[derive(Clone)]
pub(super) struct LastLooks<'a> {
    book: &'a Book,
    /// The last looks at each place, by the day up to which entries count.
    known: BTreeMap<Option<NaiveDate>, Places>,
}

#[derive(Clone, Default)]
struct Places {
    /// By place: the last look, and whether anything stands there.
    places: BTreeMap<String, (NaiveDate, bool)>,
    anywhere: Option<NaiveDate>,
}

impl<'a> LastLooks<'a> {
    /// With those up to one day worked out.
    pub(super) fn until(book: &'a Book, until: Option<NaiveDate>) -> Self {
        Self {
            book,
            known: BTreeMap::from([(until, Places::new(book, until))]),
        }
    }

    /// A batch's age on the last day anyone looked at its place, in days since sticking.
    pub(super) fn age(&mut self, it: &Subject) -> u32 {
        let book = self.book;
        let places = self
            .known
            .entry(it.until)
            .or_insert_with(|| Places::new(book, it.until));
        let at = places.places.get(&place_of(book, it.batch()));
        let day = match at {
            Some(&(day, true)) => Some(day),
            _ => places.anywhere,
        };
        let days = day.map_or(0, |day| (day - it.batch().stuck_on).num_days());
        u32::try_from(days).unwrap_or(0)
    }
}

fn place_of(book: &Book, batch: &Batch) -> String {
    let place = batch
        .place
        .as_deref()
        .map(|place| book.places().shown(place));
    place.map_or_else(String::new, |place| place_key(&place))
}

impl Places {
    fn new(book: &Book, until: Option<NaiveDate>) -> Self {
        let mut out = Self::default();
        for batch in book.batches() {
            let seen = |day: NaiveDate| until.is_none_or(|until| day <= until);
            let mut looks = batch.inspections.iter().filter(|look| seen(look.day));
            let last = looks.next_back();
            let stands = seen(batch.stuck_on) && last.is_none_or(|look| look.remain > 0);
            let day = last.map_or(batch.stuck_on, |look| look.day);
            if !seen(day) {
                continue;
            }
            out.anywhere = out.anywhere.max(Some(day));
            let known = out
                .places
                .entry(place_of(book, batch))
                .or_insert((day, false));
            *known = (known.0.max(day), known.1 || stands);
        }
        out
    }
}
