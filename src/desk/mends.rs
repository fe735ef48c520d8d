//! Other numbers in entries that stand, with which a sum that cannot be would fit. Each is tried before it is offered.

use super::excess::{Excess, brought};
use super::record::all_seen;
use crate::book::batch::Batch;
use crate::book::entry::{Amend, Entry, Kind};
use crate::book::id::Id;
use crate::book::value::FieldType;
use crate::words::dates::day_month;
use chrono::NaiveDate;

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
    /// The amend that puts the number right.
    #[must_use]
    pub fn amend(&self) -> Amend {
        Amend {
            of: self.of.clone(),
            set: vec![(self.field().to_owned(), self.to.write())],
        }
    }

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

/// For each excess its mend, or none: of two ways to let all of them in the first that does. Either the looks that
/// saw all there were saw fewer, or more were stuck.
pub(super) fn mends(family: &[&Batch], excesses: &[Excess], to_be: &[Entry]) -> Vec<Option<Mend>> {
    let none = vec![None; excesses.len()];
    let fewer: Vec<Option<Mend>> = excesses.iter().map(fewer_seen).collect();
    if let_in(&fewer, &[], family, excesses, to_be) {
        return fewer;
    }
    let mut more: Vec<Option<Mend>> = Vec::new();
    for excess in excesses {
        let mend = more_stuck(family, excess, to_be);
        let mend = mend.filter(|mend| !more.iter().flatten().any(|held| held.of == mend.of));
        more.push(mend);
    }
    // A part is short because its batch is: the batch's number comes first.
    let wrong = |key: &Id| {
        let batch = family.iter().find(|batch| batch.key == *key);
        batch.is_some_and(|batch| excesses.iter().any(|it| it.code == batch.code))
    };
    let is_short = |excess: &Excess| {
        let batch = family.iter().find(|batch| batch.code == excess.code);
        batch
            .and_then(|batch| batch.parent.as_ref())
            .is_some_and(wrong)
    };
    let short: Vec<bool> = excesses.iter().map(is_short).collect();
    for (mend, short) in more.iter_mut().zip(&short) {
        *mend = mend.take().filter(|_| !short);
    }
    match let_in(&more, &short, family, excesses, to_be) {
        true => more,
        false => none,
    }
}

/// Whether these mends let the excesses in, but for those `short` that come after others.
fn let_in(
    mends: &[Option<Mend>],
    short: &[bool],
    family: &[&Batch],
    excesses: &[Excess],
    to_be: &[Entry],
) -> bool {
    let mends: Vec<&Mend> = mends.iter().flatten().collect();
    let Some(first) = to_be.first().filter(|_| !mends.is_empty()) else {
        return false;
    };
    // Written before what is typed, which stands where it sets the same number.
    let amends = mends.iter().zip(1..).map(|(mend, id)| Entry {
        id: Id::of_ulid(id),
        at: first.at,
        by: None,
        note: None,
        kind: Kind::Amend(Box::new(mend.amend())),
    });
    let raised = to_be.iter().map(|entry| raised(entry, &mends, family));
    let tried: Vec<Entry> = amends.chain(raised).collect();
    let left = brought(family, &tried);
    // A part that was larger shows that its batch was.
    let shows_another = |mend: &&Mend| {
        mend.number == Number::Moved && left.iter().any(|it| it.of.as_ref() == Some(&mend.of))
    };
    let another = mends.iter().any(shows_another);
    let mut each = excesses.iter().enumerate();
    each.all(|(at, excess)| {
        let comes_after = another || short.get(at).copied().unwrap_or(false);
        comes_after || !left.iter().any(|it| it.is_same(excess))
    })
}

/// A look to be that saw all there are, with those more that a mend puts there.
fn raised(entry: &Entry, mends: &[&Mend], family: &[&Batch]) -> Entry {
    let mut entry = entry.clone();
    let at = entry.at;
    if let Kind::Look(look) = &mut entry.kind
        && let Some(batch) = family.iter().find(|b| Some(&b.key) == look.stick.as_ref())
        && look.seen == Some(all_seen(batch, look, at))
    {
        let mends = mends.iter().filter(|mend| mend.of == batch.key);
        let more: u32 = mends.map(|mend| mend.to.saturating_sub(mend.from)).sum();
        look.seen = look.seen.map(|seen| seen.saturating_add(more));
    }
    entry
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

/// What the batch would have to begin with.
fn more_stuck(family: &[&Batch], excess: &Excess, to_be: &[Entry]) -> Option<Mend> {
    // However many were stuck, no more are in pots.
    if excess.is_of_pots(to_be) {
        return None;
    }
    let batch = family.iter().find(|batch| batch.code == excess.code)?;
    let missing = excess.said.saturating_sub(excess.remain);
    let mut mend = Mend {
        of: batch.key.clone(),
        number: match batch.parent {
            Some(_) => Number::Moved,
            None => Number::Stuck,
        },
        from: batch.stick.stuck,
        to: 0,
    };
    // Reckoned from what the entries to be already put right.
    let amends = to_be.iter().filter_map(|entry| match &entry.kind {
        Kind::Amend(it) if it.of == mend.of => it.set.iter().find(|(name, _)| name == mend.field()),
        _ => None,
    });
    let put_right = amends.filter_map(|(_, value)| u32::read(value)).next_back();
    mend.to = put_right.unwrap_or(mend.from).saturating_add(missing);
    Some(mend)
}
