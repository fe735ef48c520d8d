//! Sums that cannot be: found before anything is written, each with the mends at hand; and what is odd once it is.

use super::bench::Desk;
use super::record::Prepared;
use crate::book::Book;
use crate::book::batch::Batch;
use crate::book::entry::{Entry, Kind};
use crate::book::fault::{BookFault, Fault, Origin, Wrong};
use crate::book::id::Id;
use crate::book::listed::From;
use crate::book::value::FieldType;
use crate::words::dates::day_month;
use crate::words::faults;
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashSet};

/// A sum that does not fit, with what mends it.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// The batch's code.
    pub batch: String,
    /// What does not fit.
    pub fault: BookFault,
    /// The entry that says so, if it stands already: what is entered late leaves it too few.
    pub obstacle: Option<Obstacle>,
    /// Whether more plants leave than were potted, or are ready.
    pub of_pots: bool,
    /// An amend of `stuck` that makes it fit, where more were stuck than was entered.
    pub more_stuck: Option<MoreStuck>,
}

/// An entry that stands and would say more than there were.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// Its name.
    pub id: Id,
    /// Its day.
    pub day: NaiveDate,
    /// How many of those it counts there would be, if it is a look that says how many were seen.
    pub seen: Option<u32>,
}

impl Misfit {
    /// What is wrong and why, a line each.
    #[must_use]
    pub fn told(&self) -> Vec<String> {
        let sentence = faults::sentence(&Wrong::Book(self.fault.clone()));
        let mut lines = vec![format!("{}: {sentence}", self.batch)];
        if let Some(obstacle) = &self.obstacle {
            let day = day_month(obstacle.day);
            lines.push(format!("That is the entry of {day}: put it right first."));
        } else if self.of_pots {
            lines.push(
                "What was potted is made ready, what is ready is sold: enter that first.".into(),
            );
        } else if self.counts_stage() {
            lines.push("Each cutting is counted once, at its most advanced stage.".into());
        }
        lines
    }

    fn counts_stage(&self) -> bool {
        let BookFault::MoreThanRemain { field, .. } = &self.fault else {
            return false;
        };
        ["callused", "rooted", "bottom"].contains(&field.as_str())
    }
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
        let after = brought(&family, prepared.entries());
        let wrong: Vec<&str> = after.iter().map(|it| it.code.as_str()).collect();
        let each = after.iter().map(|it| {
            let obstacle = obstacle(&family, it, prepared.entries());
            let more_stuck = match &obstacle {
                // A look that counted what was there then is itself what is to be put right.
                Some(Obstacle { seen: Some(_), .. }) => None,
                _ => more_stuck(&family, it, prepared.entries()),
            };
            // A part is short because its batch is: the batch's number comes first.
            let short = |more: &MoreStuck| {
                let part = family.iter().find(|batch| batch.key == more.of);
                let parent = part.and_then(|part| part.parent.as_ref());
                let parent = family.iter().find(|batch| Some(&batch.key) == parent);
                parent.is_some_and(|parent| wrong.contains(&parent.code.as_str()))
            };
            Misfit {
                batch: it.code.clone(),
                fault: it.fault(),
                obstacle,
                of_pots: it.is_of_pots(prepared.entries()),
                more_stuck: more_stuck.filter(|more| !short(more)),
            }
        });
        each.collect()
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
#[must_use]
pub fn named(kind: &Kind) -> Option<&Id> {
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

/// More leave a batch than remain.
#[derive(Clone, PartialEq)]
struct Excess {
    code: String,
    /// The entry that says so.
    of: Option<Id>,
    field: String,
    said: u32,
    remain: u32,
}

impl Excess {
    fn of(fault: &Fault) -> Option<Self> {
        let Wrong::Book(BookFault::MoreThanRemain {
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
        })
    }

    fn fault(&self) -> BookFault {
        BookFault::MoreThanRemain {
            field: self.field.clone(),
            said: self.said,
            remain: self.remain,
        }
    }

    /// Whether the entries to be take more plants from their pots than there are.
    fn is_of_pots(&self, to_be: &[Entry]) -> bool {
        self.field == "count" && to_be.iter().any(|entry| is_of_pots(&entry.kind))
    }
}

/// The excesses that come with the entries to be.
fn brought(family: &[&Batch], to_be: &[Entry]) -> Vec<Excess> {
    let events = family.iter().flat_map(|batch| &batch.events);
    let own: Vec<&Entry> = events.map(|event| &event.entry).collect();
    let excesses = |more: &[Entry]| -> Vec<Excess> {
        let book = Book::of_entries(own.iter().copied().chain(more).cloned());
        book.faults().iter().filter_map(Excess::of).collect()
    };
    let before = excesses(&[]);
    let mut after = excesses(to_be);
    after.retain(|found| !before.contains(found));
    after
}

/// The entry that says too much, if it is none of those to be and none that they put right.
fn obstacle(family: &[&Batch], excess: &Excess, to_be: &[Entry]) -> Option<Obstacle> {
    let of = excess.of.as_ref()?;
    let amends = |entry: &Entry| matches!(&entry.kind, Kind::Amend(it) if it.of == *of);
    if to_be.iter().any(|entry| entry.id == *of || amends(entry)) {
        return None;
    }
    let mut events = family.iter().flat_map(|batch| &batch.events);
    let event = events.find(|event| event.entry.id == *of)?;
    Some(Obstacle {
        id: of.clone(),
        day: event.entry.at.day(),
        seen: (excess.field == "seen").then_some(excess.remain),
    })
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
fn more_stuck(family: &[&Batch], excess: &Excess, to_be: &[Entry]) -> Option<MoreStuck> {
    // However many were stuck, no more are in pots.
    if excess.is_of_pots(to_be) {
        return None;
    }
    let batch = family.iter().find(|batch| batch.code == excess.code)?;
    let missing = excess.said.saturating_sub(excess.remain);
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
    // What would put back the number as it stands mends nothing that is not refused anyway.
    (more.to != more.from).then_some(more)
}

/// What is wrong or odd now in the journal and was not `before`.
#[must_use]
pub fn news<'a>(before: &Book, now: &'a Book) -> Vec<&'a Fault> {
    // Two faults of one line are told apart by their words.
    let known: HashSet<(Origin, String)> = before.faults().iter().map(place_and_words).collect();
    let each = now.faults().iter();
    each.filter(|fault| !known.contains(&place_and_words(fault)))
        .collect()
}

fn place_and_words(fault: &Fault) -> (Origin, String) {
    (fault.origin, faults::sentence(&fault.wrong))
}
