//! Sums that cannot be, or that go backwards: found before anything is written, each with the mends at hand.

use super::bench::Desk;
use super::record::Prepared;
use crate::book::Book;
use crate::book::batch::Batch;
use crate::book::entry::{Entry, Kind};
use crate::book::fault::BookFault;
use crate::book::id::Id;
use crate::book::listed::From;
use crate::book::value::FieldType;
use std::collections::BTreeSet;

/// A sum that does not fit, with what mends it.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// The batch's code.
    pub batch: String,
    /// What does not fit.
    pub fault: BookFault,
    /// An amend of `stuck` that makes it fit, where more were stuck than was entered.
    pub more_stuck: Option<MoreStuck>,
}

/// More were stuck than the stick says, or moved than the move that began a part says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MoreStuck {
    /// The stick, or the move.
    pub of: Id,
    /// Whether it began a part.
    pub part: bool,
    /// What it says.
    pub from: u32,
    /// What it would have to say.
    pub to: u32,
}

impl MoreStuck {
    /// The field that says so.
    #[must_use]
    pub fn field(&self) -> &'static str {
        if self.part { "count" } else { "stuck" }
    }

    /// What was done with them.
    #[must_use]
    pub fn word(&self) -> &'static str {
        if self.part { "moved" } else { "stuck" }
    }
}

impl Desk {
    /// What would not fit if these entries were saved; nothing if all fits.
    ///
    /// The batches touched are folded anew with the entries added, so that a late entry is judged
    /// by all that came after it too.
    #[must_use]
    pub fn misfits(&self, prepared: &Prepared) -> Vec<Misfit> {
        let family = self.family(prepared.entries());
        let impossible = |fault: &BookFault| matches!(fault, BookFault::MoreThanRemain { .. });
        let after = brought(&family, prepared.entries(), impossible);
        let wrong: Vec<String> = after.iter().map(|(code, _)| code.clone()).collect();
        after
            .into_iter()
            .map(|(code, fault)| {
                let more_stuck = more_stuck(&family, &code, &fault, prepared.entries());
                // A part is short because its batch is: the batch's number comes first.
                let short = |more: &MoreStuck| {
                    let part = family.iter().find(|batch| batch.key == more.of);
                    let parent = part.and_then(|part| part.parent.as_ref());
                    let parent = family.iter().find(|batch| Some(&batch.key) == parent);
                    parent.is_some_and(|parent| wrong.contains(&parent.code))
                };
                let more_stuck = more_stuck.filter(|more| !short(more));
                Misfit {
                    batch: code,
                    fault,
                    more_stuck,
                }
            })
            .collect()
    }

    /// What these entries count backwards, or turn into such a count, each with its batch's code: it may be a slip
    /// of either look, so it is told and refused by none.
    #[must_use]
    pub fn backwards(&self, prepared: &Prepared) -> Vec<(String, BookFault)> {
        let family = self.family(prepared.entries());
        let backwards = |fault: &BookFault| matches!(fault, BookFault::Backwards { .. });
        brought(&family, prepared.entries(), backwards)
    }

    /// The batches that entries touch, with those they were parted from and their parts.
    fn family(&self, entries: &[Entry]) -> Vec<&Batch> {
        let mut keys: BTreeSet<&Id> = entries
            .iter()
            .filter_map(|entry| named(&entry.kind))
            .collect();
        loop {
            let known = keys.len();
            for batch in self.book.batches() {
                if let Some(parent) = &batch.parent
                    && (keys.contains(parent) || keys.contains(&batch.key))
                {
                    keys.extend([parent, &batch.key]);
                }
            }
            if keys.len() == known {
                break;
            }
        }
        keys.into_iter()
            .filter_map(|key| self.book.batch(key).map(|batch| &**batch))
            .collect()
    }
}

/// The identity of the batch that an entry is about.
fn named(kind: &Kind) -> Option<&Id> {
    match kind {
        Kind::Look(it) => it.stick.as_ref(),
        Kind::Pot(it) => it.stick.as_ref(),
        Kind::Ready(it) => it.stick.as_ref(),
        Kind::Sold(it) => it.stick.as_ref(),
        Kind::Discard(it) => it.stick.as_ref(),
        Kind::Move(it) => it.stick.as_ref(),
        Kind::Amend(it) => Some(&it.of),
        _ => None,
    }
}

/// The faults of that sort that come with the entries to be, each with its batch's code.
fn brought(
    family: &[&Batch],
    to_be: &[Entry],
    is_meant: impl Fn(&BookFault) -> bool,
) -> Vec<(String, BookFault)> {
    let events = family.iter().flat_map(|batch| &batch.events);
    let own: Vec<&Entry> = events.map(|event| &event.entry).collect();
    let faults = |more: &[Entry]| -> Vec<(String, BookFault)> {
        let book = Book::of_entries(own.iter().copied().chain(more).cloned());
        let each = book.batches().iter().flat_map(|batch| {
            let meant = batch.faults.iter().filter(|fault| is_meant(fault));
            meant.map(|fault| (batch.code.clone(), fault.clone()))
        });
        each.collect()
    };
    let before = faults(&[]);
    let mut after = faults(to_be);
    after.retain(|found| !before.contains(found));
    after
}

/// Whether an entry counts plants in pots, not cuttings on the bench.
fn is_of_pots(kind: &Kind) -> bool {
    match kind {
        Kind::Sold(_) => true,
        Kind::Ready(it) => it.from != Some(From::Bench),
        Kind::Discard(it) => it.from == Some(From::Pots),
        _ => false,
    }
}

/// What the batch would have to begin with, reckoned from what the entries to be already put right.
fn more_stuck(
    family: &[&Batch],
    code: &str,
    fault: &BookFault,
    to_be: &[Entry],
) -> Option<MoreStuck> {
    let BookFault::MoreThanRemain {
        field,
        said,
        remain,
    } = fault
    else {
        return None;
    };
    // However many were stuck, no more are in pots.
    if field == "count" && to_be.iter().any(|entry| is_of_pots(&entry.kind)) {
        return None;
    }
    let batch = family.iter().find(|batch| batch.code == code)?;
    let missing = said.saturating_sub(*remain);
    let mut more = MoreStuck {
        of: batch.key.clone(),
        part: batch.parent.is_some(),
        from: batch.stick.stuck,
        to: 0,
    };
    let amends = to_be.iter().filter_map(|entry| match &entry.kind {
        Kind::Amend(it) if it.of == more.of => it.set.iter().find(|(name, _)| name == more.field()),
        _ => None,
    });
    let put_right = amends.filter_map(|(_, value)| u32::read(value)).next_back();
    more.to = put_right.unwrap_or(more.from).saturating_add(missing);
    Some(more)
}
