//! Sums that cannot be: found before anything is written, each with the mends at hand; and what is odd once it is.

use super::bench::Desk;
use super::record::Prepared;
use crate::book::Book;
use crate::book::batch::Batch;
use crate::book::entry::{Amend, Entry, Kind};
use crate::book::fault::{BookFault, Fault, Origin, Wrong};
use crate::book::id::Id;
use crate::book::listed::From;
use crate::book::value::FieldType;
use crate::words::dates::day_month;
use crate::words::faults;
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashSet};
use std::sync::Arc;

/// A sum that does not fit, with what mends it.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// The batch's code.
    pub batch: String,
    /// What does not fit.
    pub fault: BookFault,
    /// The day of the entry that says so, if it stands already: what is entered late leaves it too few.
    pub standing: Option<NaiveDate>,
    /// Whether more plants leave than were potted, or are ready.
    pub of_pots: bool,
    /// What makes it fit: more stuck than was entered, or fewer seen at a look that saw all there were.
    pub mend: Option<Mend>,
}

impl Misfit {
    /// What is wrong and why, a line each.
    #[must_use]
    pub fn told(&self) -> Vec<String> {
        let sentence = faults::sentence(&Wrong::Book(self.fault.clone()));
        let mut lines = vec![format!("{}: {sentence}", self.batch)];
        if let Some(day) = self.standing {
            lines.push(format!("That is the entry of {}.", day_month(day)));
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

/// A number in the journal that would make the sum fit, were it another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mend {
    /// The entry that says it.
    pub of: Id,
    /// Which number.
    pub number: Number,
    /// What it says.
    pub from: u32,
    /// What it would have to say.
    pub to: u32,
}

/// A number that may be put right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Number {
    /// How many were stuck.
    Stuck,
    /// How many were moved into a part.
    Moved,
    /// How many a look of that day saw, which was all that there were.
    Seen(NaiveDate),
}

impl Mend {
    /// The field that says so.
    #[must_use]
    pub fn field(&self) -> &'static str {
        match self.number {
            Number::Stuck => "stuck",
            Number::Moved => "count",
            Number::Seen(_) => "seen",
        }
    }

    /// What would be so: `26 were stuck, not 24`.
    #[must_use]
    pub fn said(&self) -> String {
        let Self { from, to, .. } = self;
        match self.number {
            Number::Stuck => format!("{to} were stuck, not {from}"),
            Number::Moved => format!("{to} were moved, not {from}"),
            Number::Seen(day) => format!("{to} were seen on {}, not {from}", day_month(day)),
        }
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
            let standing = standing(&family, it, prepared.entries());
            let mend = match standing {
                // A look that counted what was there then is itself what is to be put right.
                Some((day, of)) if it.field == "seen" => Some(it.fewer_seen(of, day)),
                _ => more_stuck(&family, it, prepared.entries()),
            };
            // A part is short because its batch is: the batch's number comes first.
            let short = |mend: &Mend| {
                let part = family.iter().find(|batch| batch.key == mend.of);
                let parent = part.and_then(|part| part.parent.as_ref());
                let parent = family.iter().find(|batch| Some(&batch.key) == parent);
                parent.is_some_and(|parent| wrong.contains(&parent.code.as_str()))
            };
            Misfit {
                batch: it.code.clone(),
                fault: it.fault(),
                standing: standing.map(|(day, _)| day),
                of_pots: it.is_of_pots(prepared.entries()),
                mend: mend.filter(|mend| !short(mend)),
            }
        });
        each.collect()
    }

    /// The batch of that identity, or the one that an entry of that id is about.
    fn batch_of(&self, id: &Id) -> Option<&Id> {
        let holds = |batch: &&Arc<Batch>| batch.events.iter().any(|event| event.entry.id == *id);
        let found = self.book.batch(id);
        let found = found.or_else(|| self.book.batches().iter().find(holds));
        found.map(|batch| &batch.key)
    }

    /// The batches that entries touch, with those they were parted from and their parts.
    fn family(&self, entries: &[Entry]) -> Vec<&Batch> {
        let named = entries.iter().filter_map(|entry| named(&entry.kind));
        let mut keys: BTreeSet<&Id> = named.filter_map(|id| self.batch_of(id)).collect();
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

    /// The mend of the look that says so.
    fn fewer_seen(&self, look: &Id, day: NaiveDate) -> Mend {
        Mend {
            of: look.clone(),
            number: Number::Seen(day),
            from: self.said,
            to: self.remain,
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

/// Day and name of the entry that says too much, if it is none of those to be and none that they put right.
fn standing<'a>(
    family: &[&Batch],
    excess: &'a Excess,
    to_be: &[Entry],
) -> Option<(NaiveDate, &'a Id)> {
    let of = excess.of.as_ref()?;
    let says = |it: &Amend| it.set.iter().any(|(name, _)| *name == excess.field);
    let amends = |entry: &Entry| {
        let Kind::Amend(it) = &entry.kind else {
            return false;
        };
        // What else is put right of a look leaves how many it saw as it was.
        it.of == *of && (excess.field != "seen" || says(it))
    };
    if to_be.iter().any(|entry| entry.id == *of || amends(entry)) {
        return None;
    }
    let mut events = family.iter().flat_map(|batch| &batch.events);
    let event = events.find(|event| event.entry.id == *of)?;
    Some((event.entry.at.day(), of))
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
fn more_stuck(family: &[&Batch], excess: &Excess, to_be: &[Entry]) -> Option<Mend> {
    // However many were stuck, no more are in pots.
    if excess.is_of_pots(to_be) {
        return None;
    }
    let batch = family.iter().find(|batch| batch.code == excess.code)?;
    let missing = excess.said.saturating_sub(excess.remain);
    let is_part = batch.parent.is_some();
    let mut more = Mend {
        of: batch.key.clone(),
        number: if is_part {
            Number::Moved
        } else {
            Number::Stuck
        },
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
