//! Where a batch stood from day to day: its sticking, its moves, and for a part those of what it was split
//! from. It knows nothing of the air there.

use super::Book;
use super::batch::Batch;
use crate::model::entry::Kind;
use chrono::{Days, NaiveDate};

/// Days at one place, both ends included.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The place as written, spot and all; absent if nobody said where.
    pub place: Option<String>,
    /// First day: that of the sticking or the move.
    pub from: NaiveDate,
    /// Last day: that before the next move.
    pub to: NaiveDate,
}

/// The last day on which cuttings of a batch stood on the bench: that on which the last one left, else `today`.
#[must_use]
pub fn last_day(batch: &Batch, today: NaiveDate) -> NaiveDate {
    let emptied = batch.inspections.iter().find(|seen| seen.remain == 0);
    let closed = emptied.filter(|_| !batch.is_open()).map(|seen| seen.day);
    let last = closed.unwrap_or(if batch.is_open() {
        today
    } else {
        batch.last_day()
    });
    last.max(batch.stuck_on)
}

/// The stretches of a batch from its sticking up to and on a day, in order, without gaps.
#[must_use]
pub fn stretches(book: &Book, batch: &Batch, until: NaiveDate) -> Vec<Stretch> {
    let mut turns: Vec<(NaiveDate, Option<String>)> = Vec::new();
    gather(book, batch, until, &mut turns);
    let mut out: Vec<Stretch> = Vec::new();
    for (day, place) in turns {
        let same = out.last().is_some_and(|last| last.place == place);
        if same {
            continue;
        }
        if let Some(last) = out.last_mut() {
            last.to = day - Days::new(1);
        }
        // Two moves on one day: only the second place was lived in.
        out.retain(|stretch| stretch.from <= stretch.to);
        out.push(Stretch {
            place,
            from: day,
            to: until,
        });
    }
    out
}

/// The days on which it came to a place, those of its forebears first.
fn gather(
    book: &Book,
    batch: &Batch,
    until: NaiveDate,
    out: &mut Vec<(NaiveDate, Option<String>)>,
) {
    let parent = batch.parent.as_ref().and_then(|key| book.batch(key));
    match (parent, batch.events.first()) {
        // A parent folds before its parts, so this comes to an end.
        (Some(parent), Some(birth)) if parent.stuck_on <= birth.entry.at.day() => {
            gather(book, parent, birth.entry.at.day(), out);
        }
        _ => out.push((batch.stuck_on, batch.stick.place.clone())),
    }
    for event in &batch.events {
        let day = event.entry.at.day();
        let Kind::Move(it) = &event.entry.kind else {
            continue;
        };
        // A part that leaves takes the parent nowhere.
        let own = it.into.is_none() || event.entry.id == batch.key;
        if own && it.place.is_some() && day <= until {
            out.push((day, it.place.clone()));
        }
    }
}
