//! The open batches as rows: gathered by place, ordered, worded. It draws nothing and keeps no cursor.

use crate::analysis::due::{DueList, Urgency};
use crate::fold::Book;
use crate::fold::batch::{Batch, BatchCounts};
use crate::model::id::Id;
use crate::model::taxon::Taxon;
use crate::model::text::{folded, place_key, split_spot};
use crate::text::bench::{NaturalOrder, natural, seen_words, walking_key};
use crate::text::dates::Calendar;
use crate::text::due::{mark, narrow, next, unseen_with_others};
use crate::text::figures::Degrees;
use crate::tui::common::{BenchOrder, Common};
use crate::tui::round::RoundStop;
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// A batch as the bench shows it.
#[derive(Clone, Debug)]
pub struct BenchRow {
    /// Its key.
    pub key: Id,
    /// Its code, this season's year left out.
    pub code: String,
    /// Its whole code.
    pub full_code: String,
    /// Its taxon's name read, for shortening.
    pub taxon: Arc<Taxon>,
    /// Days since sticking.
    pub day: i64,
    /// Counts now.
    pub counts: BatchCounts,
    /// What was last seen, in words, and when.
    pub seen: Option<(String, String)>,
    /// What comes next.
    pub next: NextStep,
    /// The place as written, spot and all; empty if none was said.
    pub place: String,
    /// Batches of this place that it stands for beside its own, none of them looked at for long.
    pub others: Vec<BenchRow>,
}

impl BenchRow {
    /// It and those it stands for.
    pub fn each(&self) -> impl Iterator<Item = &Self> {
        std::iter::once(self).chain(&self.others)
    }
}

/// A place and its batches; in the deciding order those that press, or those that wait.
#[derive(Clone, Debug)]
pub struct PlaceRows {
    /// The place's name without a spot; empty for batches without a place.
    pub place: String,
    /// Whether these wait, while others of the place may press.
    pub waits: bool,
    /// The place's last reading, in words, what matters most first; its time last.
    pub air: Vec<String>,
    /// Its batches.
    pub rows: Vec<BenchRow>,
}

/// The open batches of a book as rows, by the list of what is due, in no order.
#[must_use]
pub fn rows(common: &Common, due: &DueList) -> Vec<BenchRow> {
    let calendar = common.calendar();
    let nexts = nexts(&common.book, due, calendar);
    let admits = common.filter.within(&common.book);
    let meant = |b: &&Arc<Batch>| b.is_open() && admits(b);
    let open = common.book.batches().iter().filter(meant);
    open.map(|b| row(b, calendar, &nexts)).collect()
}

/// Rows put in order and gathered by place, in the order in which they come.
#[must_use]
pub fn gathered(common: &Common, rows: Vec<BenchRow>) -> Vec<PlaceRows> {
    let mut groups = Vec::new();
    add(common, &mut groups, rows);
    groups
}

/// The groups with their rows brought up to date. Each row stays where it stood; new ones come last under their place.
#[must_use]
pub fn renewed(common: &Common, groups: &[PlaceRows], rows: Vec<BenchRow>) -> Vec<PlaceRows> {
    let mut rows: HashMap<Id, BenchRow> =
        rows.into_iter().map(|row| (row.key.clone(), row)).collect();
    let mut out: Vec<PlaceRows> = Vec::new();
    for group in groups {
        let (mut kept, place) = (Vec::new(), place_key(&group.place));
        for row in &group.rows {
            let here = |row: &BenchRow| place_key(&row.place) == place;
            if rows.get(&row.key).is_some_and(here) {
                kept.extend(rows.remove(&row.key));
            }
        }
        out.push(PlaceRows {
            place: group.place.clone(),
            waits: group.waits && !kept.iter().any(presses),
            air: air(&common.book, &group.place, common.calendar()),
            rows: kept,
        });
    }
    out.retain(|group| !group.rows.is_empty());
    add(common, &mut out, rows.into_values().collect());
    out
}

/// What is due at the other places, in walking order from the place after that one on.
#[must_use]
pub fn further_stops(groups: &[PlaceRows], place: &str) -> Vec<RoundStop> {
    let others = groups
        .iter()
        .filter(|group| folded(&group.place) != folded(place));
    let rows = others.flat_map(|group| &group.rows);
    let mut rows: Vec<&BenchRow> = rows.filter(|row| presses(row)).collect();
    rows.sort_by_cached_key(|row| seat(BenchOrder::Walking, row));
    let mut stops: Vec<RoundStop> = Vec::new();
    for row in rows {
        let name = split_spot(&row.place).0;
        match stops.last_mut() {
            Some(stop) if folded(&stop.place) == folded(name) => {
                stop.keys.extend(row.each().map(|it| it.key.clone()));
            }
            _ => stops.push(RoundStop {
                place: name.to_owned(),
                keys: row.each().map(|it| it.key.clone()).collect(),
            }),
        }
    }
    let here = natural(place);
    let before = stops.iter().filter(|stop| natural(&stop.place) < here);
    let before = before.count();
    stops.rotate_left(before);
    stops
}

/// Whether it is due, late or failing.
fn presses(row: &BenchRow) -> bool {
    matches!(row.next.press, Some(press) if press != Urgency::Waiting)
}

/// Puts rows in order under their places, those of a place that has none yet under a new one at the end.
fn add(common: &Common, groups: &mut Vec<PlaceRows>, mut rows: Vec<BenchRow>) {
    rows.sort_by_cached_key(|row| seat(common.order, row));
    let mut there: HashMap<(bool, String), usize> = HashMap::new();
    for (at, group) in groups.iter().enumerate() {
        let key = (group.waits, folded(&group.place));
        there.entry(key).or_insert(at);
    }
    for row in rows {
        let place = split_spot(&row.place).0;
        let waits = common.order == BenchOrder::Deciding && !presses(&row);
        let key = (waits, folded(place));
        let at = *there.entry(key).or_insert_with(|| {
            groups.push(PlaceRows {
                air: air(&common.book, place, common.calendar()),
                place: place.to_owned(),
                waits,
                rows: Vec::new(),
            });
            groups.len() - 1
        });
        groups[at].rows.push(row);
    }
}

fn row(batch: &Batch, calendar: Calendar, nexts: &HashMap<Id, NextStep>) -> BenchRow {
    BenchRow {
        key: batch.key.clone(),
        code: short_code(&batch.code, calendar),
        full_code: batch.code.clone(),
        taxon: Arc::clone(&batch.taxon),
        day: (calendar.today - batch.stuck_on).num_days(),
        counts: batch.counts,
        seen: seen_words(batch, calendar),
        next: nexts.get(&batch.key).cloned().unwrap_or_default(),
        place: batch.place.clone().unwrap_or_default(),
        others: Vec::new(),
    }
}

/// In the deciding order, the batches of each place that nobody has looked at for long as one row, save at the places
/// `shown` one by one: in winter thirty late looks are one thing to decide.
#[must_use]
pub fn gathered_unseen(
    common: &Common,
    mut groups: Vec<PlaceRows>,
    shown: &HashSet<String>,
) -> Vec<PlaceRows> {
    let folds = |group: &&mut PlaceRows| {
        common.order == BenchOrder::Deciding && !shown.contains(&place_key(&group.place))
    };
    for group in groups.iter_mut().filter(folds) {
        let is_unseen = |row: &BenchRow| row.next.unseen_since.is_some();
        if group.rows.iter().filter(|row| is_unseen(row)).count() < 2 {
            continue;
        }
        let mut kept: Vec<BenchRow> = Vec::new();
        for row in std::mem::take(&mut group.rows) {
            match kept.iter_mut().find(|held| is_unseen(held)) {
                Some(held) if is_unseen(&row) => held.others.push(row),
                _ => kept.push(row),
            }
        }
        group.rows = kept;
        for row in group.rows.iter_mut().filter(|row| !row.others.is_empty()) {
            let since: Vec<NaiveDate> = row.each().filter_map(|it| it.next.unseen_since).collect();
            row.next.words = unseen_with_others(&since, common.calendar());
            row.next.short = format!("+{} unseen", row.others.len());
        }
    }
    groups
}

/// The code without this season's year.
#[must_use]
pub fn short_code(code: &str, calendar: Calendar) -> String {
    let year = calendar.season(calendar.today).rem_euclid(100);
    let prefix = format!("{year:02}-");
    code.strip_prefix(&prefix).unwrap_or(code).to_owned()
}

/// The last reading of the air at a place, in words, what matters most first.
fn air(book: &Book, place: &str, calendar: Calendar) -> Vec<String> {
    let since = calendar.today - chrono::TimeDelta::days(7);
    let Some(last) = book.readings(place).since(since).next_back() else {
        return Vec::new();
    };
    let degrees = Degrees::of_book(book);
    let air = last.air_c.map(|t| degrees.in_words(t.0));
    let damp = last.rh_pct.map(|rh| format!("{:.0} % rh", rh.0));
    let when = match last.at.local() {
        Some(local) if local.date() == calendar.today => local.format("%H:%M").to_string(),
        _ => calendar.at(&last.at),
    };
    let medium = last
        .medium_c
        .map(|t| format!("medium {:.1}", degrees.number(t.0)));
    let said = air.into_iter().chain(damp).chain(medium);
    said.chain([when]).collect()
}

/// What a row is put in order by: in the deciding order its place on the list, each its own; else the way along the places.
fn seat(order: BenchOrder, row: &BenchRow) -> (usize, Option<[NaturalOrder; 3]>) {
    let listed = row.next.seat;
    let has_own = order == BenchOrder::Deciding && listed != usize::MAX;
    let walking = (!has_own).then(|| walking_key(&row.place, &row.full_code));
    match order {
        BenchOrder::Deciding => (listed, walking),
        BenchOrder::Walking => (0, walking),
    }
}

/// What comes next for a batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NextStep {
    /// How pressing; nothing if the batch is silent, or too new to be on the list yet.
    pub press: Option<Urgency>,
    /// Its place on the list, from 0.
    pub seat: usize,
    /// Its sign.
    pub mark: char,
    /// In words.
    pub words: String,
    /// In few words.
    pub short: String,
    /// The day of the last look, if nobody has looked for so long that nothing is known of it now.
    pub unseen_since: Option<NaiveDate>,
}

impl Default for NextStep {
    /// Of a batch that is not on the list: it stands last.
    fn default() -> Self {
        Self {
            press: None,
            seat: usize::MAX,
            mark: ' ',
            words: String::new(),
            short: String::new(),
            unseen_since: None,
        }
    }
}

/// What comes next for every batch on the list, and for the silent ones.
#[must_use]
pub fn nexts(book: &Book, due: &DueList, calendar: Calendar) -> HashMap<Id, NextStep> {
    let listed = due.items.iter().enumerate().map(|(seat, item)| {
        let next = NextStep {
            press: Some(item.press),
            seat,
            mark: mark(item.press),
            words: next(item, calendar),
            short: narrow(item, calendar),
            unseen_since: item.unseen_since,
        };
        (item.key.clone(), next)
    });
    let silent = due.silent.iter().filter_map(|key| {
        let last = book.batch(key)?.last_day();
        let next = NextStep {
            words: format!("no entry since {}", calendar.day(last)),
            short: "silent".to_owned(),
            ..NextStep::default()
        };
        Some((key.clone(), next))
    });
    listed.chain(silent).collect()
}

/// How many of these press, in words, the most pressing first: `2 failing, 1 late, 4 due`.
#[must_use]
pub fn pressing<'a>(rows: impl Iterator<Item = &'a BenchRow>) -> String {
    let (unseen, seen): (Vec<&BenchRow>, Vec<&BenchRow>) = rows
        .flat_map(BenchRow::each)
        .partition(|row| row.next.unseen_since.is_some());
    let presses: Vec<Urgency> = seen.iter().filter_map(|row| row.next.press).collect();
    let named = [
        (Urgency::Failing, "failing"),
        (Urgency::Late, "late"),
        (Urgency::Due, "due"),
    ];
    let count = |press| presses.iter().filter(|one| **one == press).count();
    let counted = named.map(|(press, word)| (count(press), word));
    let parts: Vec<String> = counted
        .into_iter()
        .chain([(unseen.len(), "not looked at")])
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}"))
        .collect();
    if parts.is_empty() {
        return "none due".to_owned();
    }
    parts.join(", ")
}
