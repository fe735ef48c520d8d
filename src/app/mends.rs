//! Sums that cannot be: more taken from a batch than remains, found by folding it together with the entries about to be
//! saved; and their mends, the number of an earlier entry to amend. Each mend is tried before it is offered.

use super::prepared::PreparedTransaction;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::entry::{Amend, Entry, Kind};
use crate::model::fault::{BookFault, Fault, FaultKind};
use crate::model::id::Id;
use crate::model::takes::Takes;
use crate::model::value::FieldType;
use crate::text::dates::day_month;
use chrono::NaiveDate;
use std::collections::HashMap;

/// A mend: an earlier entry's number, amended so that the sum fits.
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

/// Which number of an earlier entry a mend amends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Number {
    /// How many were stuck.
    Stuck,
    /// How many were moved into a part.
    Moved,
    /// How many a look of that day saw, when it was at all cuttings that remained.
    Seen(NaiveDate),
}

impl Number {
    /// The number of cuttings that a batch began with.
    fn begun(batch: &Batch) -> Self {
        match batch.parent {
            Some(_) => Self::Moved,
            None => Self::Stuck,
        }
    }

    fn field(self) -> &'static str {
        match self {
            Self::Stuck => "stuck",
            Self::Moved => "count",
            Self::Seen(_) => "seen",
        }
    }
}

/// How many cuttings a batch began with, by the last of these entries that amends that number.
pub(super) fn put_right(batch: &Batch, entries: &[Entry]) -> Option<u32> {
    let field = Number::begun(batch).field();
    let amends = entries.iter().filter_map(|entry| match &entry.kind {
        Kind::Amend(it) if it.target == batch.key => it.set.iter().find(|(name, _)| name == field),
        _ => None,
    });
    amends.filter_map(|(_, value)| u32::read(value)).next_back()
}

impl Mend {
    /// That a batch began with so many cuttings.
    #[must_use]
    pub fn begun_with(batch: &Batch, to: u32) -> Self {
        Self {
            of: batch.key.clone(),
            number: Number::begun(batch),
            from: batch.stick.stuck,
            to,
        }
    }

    /// The amend that sets the number.
    #[must_use]
    pub fn amend(&self) -> Amend {
        Amend {
            target: self.of.clone(),
            set: vec![(self.field().to_owned(), self.to.write())],
        }
    }

    /// The field that says so.
    #[must_use]
    pub fn field(&self) -> &'static str {
        self.number.field()
    }

    /// The mend in words: `26 were stuck, not 24`.
    #[must_use]
    pub fn sentence(&self) -> String {
        let Self { from, to, .. } = self;
        match self.number {
            Number::Stuck => format!("{to} were stuck, not {from}"),
            Number::Moved => format!("{to} were moved, not {from}"),
            Number::Seen(day) => format!("{to} were seen on {}, not {from}", day_month(day)),
        }
    }
}

/// For each excess the mend that is offered, if any. Two ways are tried, and the first that removes every excess is
/// taken: the looks at all cuttings saw fewer than they say, or more were stuck.
pub(super) fn mends(
    family: &[&Batch],
    standing: &Baseline,
    excesses: &[Excess],
    prepared: &PreparedTransaction,
) -> Vec<Option<Mend>> {
    let trial = Trial {
        family,
        standing,
        excesses,
        prepared,
    };
    let fewer: Vec<Option<Mend>> = excesses.iter().map(fewer_seen).collect();
    let more = || trial.more();
    let lets_in = |mends: &Vec<Option<Mend>>| trial.left(mends).is_none();
    let found = Some(fewer).filter(lets_in).or_else(more);
    found.unwrap_or_else(|| vec![None; excesses.len()])
}

/// What does not fit, and the entries to be with which mends are tried.
struct Trial<'a> {
    family: &'a [&'a Batch],
    standing: &'a Baseline,
    excesses: &'a [Excess],
    prepared: &'a PreparedTransaction,
}

impl Trial<'_> {
    fn batch(&self, excess: &Excess) -> Option<&Batch> {
        let mut family = self.family.iter();
        family.find(|batch| batch.code == excess.code).copied()
    }

    /// Whether the batch that a part was moved out of is short too: its number comes first.
    fn comes_after(&self, excess: &Excess) -> bool {
        let parent = self.batch(excess).and_then(|batch| batch.parent.as_ref());
        let parent = self.family.iter().find(|batch| Some(&batch.key) == parent);
        parent.is_some_and(|parent| self.excesses.iter().any(|it| it.code == parent.code))
    }

    /// More stuck, or moved into a part, by as many as let all in.
    fn more(&self) -> Option<Vec<Option<Mend>>> {
        let mut more: Vec<Option<Mend>> = Vec::new();
        for excess in self.excesses.iter() {
            let mend = match self.comes_after(excess) {
                true => None,
                false => self.more_stuck(excess),
            };
            more.push(mend.filter(|mend| !more.iter().flatten().any(|held| held.of == mend.of)));
        }
        // Of one batch several may lack, the later ones more.
        for _ in self.excesses {
            let Some(left) = self.left(&more) else {
                return Some(more);
            };
            let of = &self.batch(&left)?.key;
            let mend = more.iter_mut().flatten().find(|mend| mend.of == *of)?;
            mend.to = mend
                .to
                .saturating_add(left.said.saturating_sub(left.remain));
        }
        self.left(&more).is_none().then_some(more)
    }

    /// The first excess that would remain after these mends; without a mend, the first excess there is.
    fn left(&self, mends: &[Option<Mend>]) -> Option<Excess> {
        let mends: Vec<&Mend> = mends.iter().flatten().collect();
        let to_be = self.prepared.entries();
        let Some(first) = to_be.first().filter(|_| !mends.is_empty()) else {
            return self.excesses.first().cloned();
        };
        // Written before what is typed, which stands where it sets the same number.
        let amends = mends.iter().zip(1..).map(|(mend, id)| Entry {
            id: Id::from_ulid(id),
            at: first.at,
            by: None,
            note: None,
            kind: Kind::Amend(Box::new(mend.amend())),
        });
        let raised = to_be.iter().map(|entry| self.raised(entry, &mends));
        let tried: Vec<Entry> = amends.chain(raised).collect();
        let left = self.standing.brought(&tried);
        // A part that was larger shows that its batch was, which is asked for next.
        let shows_another = |excess: &Excess| {
            let own = self.batch(excess).map(|batch| &batch.key);
            let moved = |mend: &&&Mend| mend.number == Number::Moved && Some(&mend.of) == own;
            let moved = mends.iter().find(moved).map(|mend| &mend.of);
            moved.is_some() && left.iter().any(|it| it.of.as_ref() == moved)
        };
        let is_own = |it: &Excess| to_be.iter().any(|entry| Some(&entry.id) == it.of.as_ref());
        let counts = |it: &&Excess| {
            let known = self.excesses.iter().any(|excess| it.is_same(excess));
            (known || is_own(it)) && !self.comes_after(it) && !shows_another(it)
        };
        left.iter().find(counts).cloned()
    }

    /// The entry as it would be after the mends: a new look at all cuttings sees those that a mend adds, too.
    fn raised(&self, entry: &Entry, mends: &[&Mend]) -> Entry {
        let mut entry = entry.clone();
        let examines_all = self.prepared.examines_all(&entry);
        if let Kind::Look(look) = &mut entry.kind
            && examines_all
        {
            let mends = mends
                .iter()
                .filter(|mend| Some(&mend.of) == look.stick.as_ref());
            let more: u32 = mends.map(|mend| mend.to.saturating_sub(mend.from)).sum();
            look.seen = look.seen.map(|seen| seen.saturating_add(more));
        }
        entry
    }

    /// What the batch would have to begin with.
    fn more_stuck(&self, excess: &Excess) -> Option<Mend> {
        // However many were stuck, no more are in pots.
        if excess.of_pots {
            return None;
        }
        let batch = self.batch(excess)?;
        let missing = excess.said.saturating_sub(excess.remain);
        // Reckoned from what the entries to be already put right.
        let right = put_right(batch, self.prepared.entries()).unwrap_or(batch.stick.stuck);
        Some(Mend::begun_with(batch, right.saturating_add(missing)))
    }
}

/// The mend of a standing look that says it saw more than there were.
fn fewer_seen(excess: &Excess) -> Option<Mend> {
    let day = excess.standing.filter(|_| excess.field == "seen")?;
    Some(Mend {
        of: excess.of.clone()?,
        number: Number::Seen(day),
        from: excess.said,
        to: excess.remain,
    })
}

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

    /// The fault that the fold reports for it.
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
pub(super) struct Baseline {
    entries: Vec<Entry>,
    before: Vec<Excess>,
}

impl Baseline {
    pub fn from_family(family: &[&Batch]) -> Self {
        let events = family.iter().flat_map(|batch| &batch.events);
        let entries: Vec<Entry> = events.map(|event| event.entry.whole()).collect();
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
        let own: HashMap<&Id, &Entry> = self.entries.iter().map(|it| (&it.id, it)).collect();
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
fn excesses(own: &[Entry], more: &[Entry]) -> Vec<Excess> {
    let book = Book::from_entries(own.iter().chain(more).cloned());
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
