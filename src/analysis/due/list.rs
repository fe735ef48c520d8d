//! The list of what is due on a day. It words nothing.

use super::looks;
use super::reason::{DueReason, Request, Urgency};
use crate::analysis::expect::Model;
use crate::analysis::expect::failing;
use crate::analysis::expect::failing::FailingSign;
use crate::fold::Book;
use crate::fold::batch::{Batch, SILENT_DAYS};
use crate::fold::names::Rests;
use crate::model::entry::TaxonFacts;
use crate::model::id::Id;
use crate::model::listed::Wood;
use chrono::{Days, NaiveDate};
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// A batch on the list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DueItem {
    /// Its code.
    #[serde(rename = "batch")]
    pub code: String,
    /// Its identity.
    #[serde(rename = "stick")]
    pub key: Id,
    /// The taxon as it is shown.
    pub taxon: String,
    /// The wood stage, if recorded.
    pub wood: Option<Wood>,
    /// Where it stands, spot and all.
    pub place: Option<String>,
    /// Days since sticking.
    pub day: i64,
    /// Cuttings left on the bench.
    pub remain: u32,
    /// How pressing it is.
    pub press: Urgency,
    /// The day on which it is or was due.
    pub on: NaiveDate,
    /// Days from the list's day to that day; below 0 once it is past.
    pub in_days: i64,
    /// The day of the last look, if nobody has looked for so long that nothing is known of it now.
    pub unseen_since: Option<NaiveDate>,
    /// Why, what decides first; never empty. Of a batch that waits, why its day is that day.
    pub reasons: Vec<DueReason>,
}

impl DueItem {
    /// The reason that decides.
    #[must_use]
    pub fn reason(&self) -> Option<&DueReason> {
        self.reasons.first()
    }
}

/// The list of a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueList {
    /// The day.
    pub on: NaiveDate,
    /// Every open batch that is not silent, the most pressing first: failing, then late, the longest first,
    /// then due, then those that wait, the soonest first; within these by rule, then by day of sticking.
    pub items: Vec<DueItem>,
    /// Open batches without an entry for long, by day of sticking.
    pub silent: Vec<Id>,
}

/// The list of a day, from what was entered for days up to and on it.
///
/// `model`: what to expect, learnt as of that day; common practice stands in without it. The same book gives the same
/// list, in whatever order it was read. It takes a fraction of a millisecond a batch; only learning takes longer.
#[must_use]
pub fn due(book: &Book, on: NaiveDate, model: Option<&Model>) -> DueList {
    let batches = book.batches_on(on);
    let celled = looks::celled(batches.iter().map(AsRef::as_ref));
    let before_split = looks::before_split(&batches);
    let open: Vec<Arc<Batch>> = batches.into_iter().filter(|b| b.is_open()).collect();
    let rests = book.rests(on);
    let is_silent = |batch: &Arc<Batch>| {
        let asked = rests.asked(batch);
        batch.is_silent(on) && asked.is_none_or(|day| (on - day).num_days() >= SILENT_DAYS)
    };
    let (silent, open): (Vec<_>, Vec<_>) = open.into_iter().partition(is_silent);
    let desk = Ground {
        book,
        on,
        model,
        said: first_looks(book, on),
        failing: match model {
            Some(_) => HashMap::new(),
            None => failing::failing(book, &open, on, &failing::unknown),
        },
        celled,
        rests,
        before_split,
    };
    let mut items: Vec<(DueItem, NaiveDate)> = open
        .iter()
        .filter_map(|batch| Some((desk.item(batch)?, batch.stuck_on)))
        .collect();
    // Stable: equals stay in the order of the book.
    items.sort_by_key(|(item, stuck_on)| {
        let rule = item.reason().map(DueReason::rule);
        (item.press, item.on, rule, *stuck_on)
    });
    DueList {
        on,
        items: items.into_iter().map(|(item, _)| item).collect(),
        silent: silent.into_iter().map(|batch| batch.key.clone()).collect(),
    }
}

/// The list of a day, from what was entered for days up to and on it. It learns what to expect: ask off the input path.
#[must_use]
pub fn due_on(book: &Book, day: NaiveDate) -> DueList {
    due(book, day, Some(&Model::learn(book, day, &[])))
}

/// The same at once: common practice stands in for what the journal teaches.
#[must_use]
pub fn due_at_once(book: &Book, day: NaiveDate) -> DueList {
    due(book, day, None)
}

/// The days of the first look that the journal had stated by a day, by taxon.
fn first_looks(book: &Book, on: NaiveDate) -> HashMap<String, u32> {
    let until = book.entries().iter().filter(|s| s.entry.at.day() <= on);
    let stated = until.filter_map(|standing| {
        let facts = standing.entry.get::<TaxonFacts>()?;
        Some((
            book.taxa().resolve(&facts.taxon).key(),
            facts.first_look_days?,
        ))
    });
    stated.collect()
}

/// What a batch is judged on.
struct Ground<'a> {
    book: &'a Book,
    on: NaiveDate,
    model: Option<&'a Model>,
    said: HashMap<String, u32>,
    /// Why batches are failing, where no model tells.
    failing: HashMap<Id, Vec<FailingSign>>,
    celled: HashSet<String>,
    rests: Rests<'a>,
    /// When parts were last looked at before they were split off.
    before_split: HashMap<Id, NaiveDate>,
}

impl Ground<'_> {
    /// A batch as it stands on the list.
    fn item(&self, batch: &Batch) -> Option<DueItem> {
        let mut wishes = self.wishes(batch);
        wishes.sort_by_key(|wish| (wish.urgency(self.on), wish.reason.rule()));
        let (now, later): (Vec<Request>, Vec<Request>) =
            wishes.into_iter().partition(|wish| wish.on <= self.on);
        let mut shown = now;
        if shown.is_empty() {
            shown.extend(later.into_iter().min_by_key(|wish| wish.on));
        }
        let first = shown.first()?;
        Some(DueItem {
            code: batch.code.clone(),
            key: batch.key.clone(),
            taxon: batch.taxon.shown(),
            wood: batch.stick.wood,
            place: batch.place.clone(),
            day: (self.on - batch.stuck_on).num_days(),
            remain: batch.counts.remain(),
            press: first.urgency(self.on),
            on: first.on,
            in_days: (first.on - self.on).num_days(),
            // What was failing at its last look is never one among many that nobody looked at.
            unseen_since: self
                .unseen_since(batch)
                .filter(|_| !matches!(first.reason, DueReason::Failing(_))),
            reasons: shown.into_iter().map(|wish| wish.reason).collect(),
        })
    }

    /// The day of the last look at a batch lost sight of; of sticking if there was none.
    fn unseen_since(&self, batch: &Batch) -> Option<NaiveDate> {
        let is_lost = self
            .model
            .is_some_and(|model| model.is_lost_sight_of(batch));
        is_lost.then(|| looks::last(batch).unwrap_or(batch.stuck_on))
    }

    /// All that a batch wants, each with its day.
    fn wishes(&self, batch: &Batch) -> Vec<Request> {
        let asked = |on| Request::on(on, DueReason::Asked { on });
        let rest = self.rests.asked(batch);
        if let Some(on) = rest.filter(|on| *on > self.on) {
            return vec![asked(on)];
        }
        let mut out: Vec<Request> = rest.map(asked).into_iter().collect();
        let signs = match self.model {
            Some(model) => model.failing(batch),
            None => self.failing.get(&batch.key).map_or(&[][..], Vec::as_slice),
        };
        out.extend(signs.iter().map(|sign| {
            let day = sign.last().day;
            Request::on(day, DueReason::Failing(sign.clone()))
        }));
        let expected = self
            .model
            .and_then(|model| model.expected_days(self.book, batch));
        let history = expected.as_ref();
        let said = self.said.get(&batch.taxon.key()).copied();
        let before = self.before_split.get(&batch.key).copied();
        out.extend(looks::first(batch, said, history, before));
        match looks::pot(batch, &self.celled) {
            Some(pot) => out.push(pot),
            None => out.extend(looks::next(batch, self.on, history, before)),
        }
        // What the grower put off is not late before the day asked for.
        if let Some(on) = rest {
            for wish in &mut out {
                wish.on = wish.on.max(on);
                wish.late_after = wish.late_after.max(on);
            }
        }
        out
    }
}

/// What is due among the batches asked for, on a day and in the days after it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DueAnswer {
    /// The day.
    pub on: NaiveDate,
    /// How many days ahead the list reaches.
    pub days: u16,
    /// Open batches asked for, silent ones too.
    pub open: usize,
    /// What is due, the most pressing first.
    pub due: Vec<DueItem>,
    /// What will be, the soonest first.
    pub coming: Vec<DueItem>,
    /// What is left out.
    pub silent: SilentBatches,
}

/// Open batches of which nothing was entered for long.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SilentBatches {
    /// The number of days without an entry that makes a batch silent.
    pub days: i64,
    /// How many batches are silent.
    pub count: usize,
    /// Their codes.
    pub batches: Vec<String>,
}

impl DueAnswer {
    /// From the list of a day, for the batches that have a code by `code`.
    #[must_use]
    pub fn new(list: &DueList, days: u16, code: &dyn Fn(&Id) -> Option<String>) -> Self {
        let last = list.on.checked_add_days(Days::new(days.into()));
        let last = last.unwrap_or(NaiveDate::MAX);
        let meant: Vec<&DueItem> = list
            .items
            .iter()
            .filter(|item| code(&item.key).is_some())
            .collect();
        let batches: Vec<String> = list.silent.iter().filter_map(code).collect();
        let open = meant.len() + batches.len();
        let told = meant.into_iter().filter(|item| item.on <= last).cloned();
        let (due, coming) = told.partition(|item: &DueItem| item.press != Urgency::Waiting);
        Self {
            on: list.on,
            days,
            open,
            due,
            coming,
            silent: SilentBatches {
                days: SILENT_DAYS,
                count: batches.len(),
                batches,
            },
        }
    }
}
