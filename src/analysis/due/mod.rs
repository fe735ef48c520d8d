//! What is due: which open batches want a look, potting or a decision on a day and in the days to come, and
//! why. Pure: the day is an argument, the histories are worked out beforehand. It words nothing.
//!
//! A batch is listed once. `again_on` silences it until its day. Without an entry for 180 days
//! it is silent: counted, not listed; a day that was asked for counts like an entry of that day.

mod failing;
mod history;
mod looks;
pub mod rules;

pub use history::{ExpectedDay, Histories, History};
pub use rules::Rule;

use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::model::entry::Kind;
use crate::model::id::Id;
use crate::model::listed::{Cause, Wood};
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// How pressing something is; the first is the most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// Losses are growing.
    Failing,
    /// Its day is past.
    Late,
    /// Its day is today.
    Due,
    /// It waits for its day.
    Waiting,
}

/// What a look found dead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LossCount {
    /// The day.
    pub day: NaiveDate,
    /// How many.
    pub lost: u32,
    /// Of how many that stood there before.
    pub of: u32,
    /// Days since the look before, or since sticking; at least 1.
    pub over: u32,
}

/// What a day of the first look rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FirstLookBasis {
    /// The journal's own words on the taxon (`first_look_days`).
    Said,
    /// The day by which 10 % of those that root had, in so many batches.
    History {
        /// That day, before the bounds of a first look.
        age: u32,
        /// Batches.
        batches: usize,
    },
    /// Common practice for the wood stage.
    Practice,
}

/// Why a batch is on the list, with the figures that say so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DueReason {
    /// Losses that spread from look to look.
    Spreading {
        /// Their cause, blackened or mould.
        cause: Cause,
        /// What the look before found of it.
        before: LossCount,
        /// What the last look found of it.
        now: LossCount,
    },
    /// A heavy loss at the last look.
    Heavy {
        /// The cause of most of it.
        cause: Cause,
        /// What was found.
        found: LossCount,
    },
    /// Mould in several batches of one place.
    Mould {
        /// The place, as written, without a spot.
        place: String,
        /// In so many batches, this one among them.
        batches: usize,
        /// When it was last seen there.
        seen: NaiveDate,
    },
    /// The grower asked for this day.
    Asked {
        /// It.
        on: NaiveDate,
    },
    /// Ready for potting.
    Pot {
        /// ExpectedDay roots at the bottom, or by having rooted in an open tray.
        milestone: Milestone,
        /// How many are ready.
        ready: u32,
        /// Of so many left.
        of: u32,
        /// When they were counted.
        seen: NaiveDate,
    },
    /// Some have not come so far though most of those that do would have.
    Overdue {
        /// The milestone: root, or bottom.
        milestone: Milestone,
        /// The day since sticking by which 90 % of those that reach it had.
        age: u32,
        /// In so many batches.
        batches: usize,
        /// How many have not reached it.
        waiting: u32,
        /// Of so many left.
        of: u32,
        /// The day of the last look.
        seen: NaiveDate,
    },
    /// Never looked at.
    First {
        /// The day since sticking for it.
        age: u32,
        /// The wood stage, if recorded.
        wood: Option<Wood>,
        /// What that day rests on.
        basis: FirstLookBasis,
    },
    /// A milestone is expected.
    Expected {
        /// Which, when, and for what share: of those that have come due the one that says most.
        by: ExpectedDay,
        /// The one that came first, if the day of the look goes by it and not by the other.
        first: Option<ExpectedDay>,
        /// In so many batches.
        batches: usize,
        /// The day of the last look.
        seen: NaiveDate,
    },
    /// Not looked at for so many days.
    Interval {
        /// The days from one look to the next.
        days: u32,
        /// The day of the last look.
        seen: NaiveDate,
        /// Whether a history is known, and expects nothing sooner.
        known: bool,
    },
}

impl DueReason {
    /// The rule that it follows.
    #[must_use]
    pub fn rule(&self) -> Rule {
        match self {
            Self::Spreading { .. } => Rule::Spreading,
            Self::Heavy { .. } => Rule::Heavy,
            Self::Mould { .. } => Rule::Mould,
            Self::Asked { .. } => Rule::Asked,
            Self::Pot { .. } => Rule::Pot,
            Self::Overdue { .. } => Rule::Overdue,
            Self::First { .. } => Rule::First,
            Self::Expected { .. } => Rule::Expected,
            Self::Interval { .. } => Rule::Interval,
        }
    }
}

/// A reason with its day.
#[derive(Clone)]
struct Request {
    on: NaiveDate,
    /// The last day on which it is due and not late.
    late_after: NaiveDate,
    reason: DueReason,
}

impl Request {
    fn on(day: NaiveDate, reason: DueReason) -> Self {
        Self {
            on: day,
            late_after: day,
            reason,
        }
    }

    fn press(&self, today: NaiveDate) -> Urgency {
        match self.reason.rule() {
            _ if self.on > today => Urgency::Waiting,
            Rule::Spreading | Rule::Heavy | Rule::Mould => Urgency::Failing,
            _ if today > self.late_after => Urgency::Late,
            _ => Urgency::Due,
        }
    }
}

/// A batch on the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueItem {
    /// Its identity.
    pub key: Id,
    /// Its code.
    pub code: String,
    /// How pressing.
    pub press: Urgency,
    /// The day on which it is or was due.
    pub on: NaiveDate,
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

impl DueList {
    /// How many are that pressing.
    #[must_use]
    pub fn count(&self, press: Urgency) -> usize {
        self.items.iter().filter(|item| item.press == press).count()
    }
}

/// The list of a day, from what was entered for days up to and on it. It estimates every taxon's curve:
/// ask off the input path.
#[must_use]
pub fn due_on(book: &Book, day: NaiveDate) -> DueList {
    due(book, day, &Histories::of(book, day))
}

/// The same at once, without histories: common practice stands in for them.
#[must_use]
pub fn due_at_once(book: &Book, day: NaiveDate) -> DueList {
    due(book, day, &Histories::default())
}

/// The list of a day, from what was entered for days up to and on it.
///
/// The same book gives the same list, in whatever order it was read. It takes a fraction of a millisecond
/// a batch; only the histories take longer.
#[must_use]
pub fn due(book: &Book, on: NaiveDate, histories: &Histories) -> DueList {
    let batches = book.batches_on(on);
    let celled = looks::celled(batches.iter().map(AsRef::as_ref));
    let before_split = looks::before_split(&batches);
    let open: Vec<Arc<Batch>> = batches.into_iter().filter(|b| b.is_open()).collect();
    let (silent, open): (Vec<_>, Vec<_>) = open.into_iter().partition(|b| b.is_silent(on));
    let desk = Ground {
        book,
        on,
        histories,
        said: first_looks(book, on),
        mouldy: failing::mouldy(book, &open, on),
        celled,
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

/// The days of the first look that the journal had stated by a day, by taxon.
fn first_looks(book: &Book, on: NaiveDate) -> HashMap<String, u32> {
    let until = book.entries().iter().filter(|s| s.entry.at.day() <= on);
    let stated = until.filter_map(|standing| match &standing.entry.kind {
        Kind::Taxon(it) => Some((book.taxa().resolve(&it.taxon).key(), it.first_look_days?)),
        _ => None,
    });
    stated.collect()
}

/// What a batch is judged on.
struct Ground<'a> {
    book: &'a Book,
    on: NaiveDate,
    histories: &'a Histories,
    said: HashMap<String, u32>,
    /// Places with mould in several batches, how many, and when last.
    mouldy: HashMap<String, (usize, NaiveDate)>,
    celled: HashSet<String>,
    /// When parts were last looked at before they were split off.
    before_split: HashMap<Id, NaiveDate>,
}

impl Ground<'_> {
    /// A batch as it stands on the list.
    fn item(&self, batch: &Batch) -> Option<DueItem> {
        let mut wishes = self.wishes(batch);
        wishes.sort_by_key(|wish| (wish.press(self.on), wish.reason.rule()));
        let (now, later): (Vec<Request>, Vec<Request>) =
            wishes.into_iter().partition(|wish| wish.on <= self.on);
        let mut shown = now;
        if shown.is_empty() {
            shown.extend(later.into_iter().min_by_key(|wish| wish.on));
        }
        let first = shown.first()?;
        Some(DueItem {
            key: batch.key.clone(),
            code: batch.code.clone(),
            press: first.press(self.on),
            on: first.on,
            reasons: shown.into_iter().map(|wish| wish.reason).collect(),
        })
    }

    /// All that a batch wants, each with its day.
    fn wishes(&self, batch: &Batch) -> Vec<Request> {
        let asked = |on| Request::on(on, DueReason::Asked { on });
        if let Some(on) = batch.again_on.filter(|on| *on > self.on) {
            return vec![asked(on)];
        }
        let mut out: Vec<Request> = batch.again_on.map(asked).into_iter().collect();
        if let Some(reason) = failing::alone(batch) {
            let found = match &reason {
                DueReason::Spreading { now: found, .. } | DueReason::Heavy { found, .. } => {
                    found.day
                }
                _ => self.on,
            };
            out.push(Request::on(found, reason));
        }
        out.extend(self.mould(batch));
        let history = self.histories.get(batch);
        let said = self.said.get(&batch.taxon.key()).copied();
        let before = self.before_split.get(&batch.key).copied();
        out.extend(looks::first(batch, said, history, before));
        match looks::pot(batch, &self.celled) {
            Some(pot) => out.push(pot),
            None => out.extend(looks::next(batch, self.on, history, before)),
        }
        // What the grower put off is not late before the day asked for.
        if let Some(on) = batch.again_on {
            for wish in &mut out {
                wish.on = wish.on.max(on);
                wish.late_after = wish.late_after.max(on);
            }
        }
        out
    }

    fn mould(&self, batch: &Batch) -> Option<Request> {
        let own = failing::mould(batch, self.on)?;
        let place = batch.place.as_deref()?;
        let (batches, seen) = *self.mouldy.get(&self.book.places().key(place))?;
        let place = crate::model::text::split_spot(place).0.to_owned();
        Some(Request::on(
            own,
            DueReason::Mould {
                place,
                batches,
                seen,
            },
        ))
    }
}
