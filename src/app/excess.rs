//! More taken from a batch than remains, found by folding it together with the entries about to be saved. It mends nothing.

use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::entry::{Entry, Kind, Takes};
use crate::model::fault::{BookFault, Fault, FaultKind};
use crate::model::id::Id;
use chrono::NaiveDate;
use std::collections::HashMap;

/// More leave a batch, or are counted in it, than remain.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Excess {
    /// The batch's code.
    pub code: String,
    /// The entry that says so.
    pub of: Option<Id>,
    /// The field.
    pub field: String,
    /// What it says.
    pub said: u32,
    /// What there is.
    pub remain: u32,
    /// The day of that entry, if it stands already and the number is not put right.
    pub standing: Option<NaiveDate>,
    /// Whether that entry takes plants from their pots.
    pub of_pots: bool,
}

impl Excess {
    fn from_fault(fault: &Fault) -> Option<Self> {
        let FaultKind::Book(BookFault::MoreThanRemain {
            field,
            said,
            remain,
        }) = &fault.wrong
        else {
            return None;
        };
        Some(Self {
            code: fault.batch.clone()?,
            of: fault.id.clone(),
            field: field.clone(),
            said: *said,
            remain: *remain,
            standing: None,
            of_pots: false,
        })
    }

    /// As the fold tells it.
    pub fn fault(&self) -> BookFault {
        BookFault::MoreThanRemain {
            field: self.field.clone(),
            said: self.said,
            remain: self.remain,
        }
    }

    /// Whether both are about the same field of the same entry.
    pub fn is_same(&self, other: &Self) -> bool {
        (&self.of, &self.field) == (&other.of, &other.field)
    }
}

/// The entries of a batch and its relatives as they stand, and the excesses in them before anything is added.
pub(super) struct Baseline<'a> {
    entries: Vec<&'a Entry>,
    before: Vec<Excess>,
}

impl<'a> Baseline<'a> {
    pub fn from_family(family: &[&'a Batch]) -> Self {
        let events = family.iter().flat_map(|batch| &batch.events);
        let entries: Vec<&Entry> = events.map(|event| &event.entry).collect();
        let before = excesses(&entries, &[]);
        Self { entries, before }
    }

    /// The excesses that appear when these entries are added.
    pub fn brought(&self, to_be: &[Entry]) -> Vec<Excess> {
        let mut after = excesses(&self.entries, to_be);
        after.retain(|found| !self.before.contains(found));
        if after.is_empty() {
            return after;
        }
        let own: HashMap<&Id, &Entry> = self.entries.iter().map(|it| (&it.id, *it)).collect();
        for excess in &mut after {
            let of = excess.of.as_ref();
            let held = of.and_then(|of| own.get(of)).copied();
            let new = to_be.iter().find(|entry| Some(&entry.id) == of);
            let pots = new
                .or(held)
                .is_some_and(|entry| matches!(entry.kind.takes(), Takes::FromPots(_)));
            excess.of_pots = pots && excess.field == "count";
            let day = held.map(|entry| entry.at.day());
            excess.standing = day.filter(|_| !is_put_right(excess, to_be));
        }
        after
    }
}

/// The excesses of all these entries together.
fn excesses(own: &[&Entry], more: &[Entry]) -> Vec<Excess> {
    let book = Book::from_entries(own.iter().copied().chain(more).cloned());
    book.faults()
        .iter()
        .filter_map(Excess::from_fault)
        .collect()
}

/// Whether the new entries state that number, or amend the entry that does. An amend of another field of a look leaves
/// `seen` as it was.
fn is_put_right(excess: &Excess, to_be: &[Entry]) -> bool {
    let of = excess.of.as_ref();
    to_be.iter().any(|entry| match &entry.kind {
        Kind::Amend(it) if Some(&it.target) == of => {
            let mut set = it.set.iter();
            excess.field != "seen" || set.any(|(name, _)| *name == excess.field)
        }
        _ => Some(&entry.id) == of,
    })
}
