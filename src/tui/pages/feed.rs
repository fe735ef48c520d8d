//! Every entry of the journal in time order, taken a window at a time from either end: nothing is
//! merged that is not about to be shown. It draws nothing.

use super::seek::Seek;
use crate::fold::Book;
use crate::fold::settle::{Correction, Standing};
use crate::model::at::At;
use crate::model::entry::Entry;
use chrono::NaiveDate;
use std::iter::Peekable;

/// Rows of a window at least, if there are so many; a day is never cut.
const WINDOW: usize = 400;

/// An entry, and what has become of it.
#[derive(Clone, Debug, PartialEq)]
pub enum JournalRow {
    /// It stands, perhaps amended; a climate line too.
    Stands(Standing),
    /// It is taken back.
    Withdrawn(Standing),
    /// An amend or a withdraw.
    Correction(Correction),
}

impl JournalRow {
    /// When.
    #[must_use]
    pub fn at(&self) -> At {
        self.entry().at
    }

    /// The entry with its line.
    #[must_use]
    pub fn standing(&self) -> &Standing {
        match self {
            Self::Stands(it) | Self::Withdrawn(it) => it,
            Self::Correction(it) => &it.standing,
        }
    }

    /// The entry.
    #[must_use]
    pub fn entry(&self) -> &Entry {
        &self.standing().entry
    }
}

/// Where a window begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WindowFrom {
    /// At the newest entry.
    Newest,
    /// At the end of a day, going back.
    Until(NaiveDate),
    /// At the start of a day, going on.
    Since(NaiveDate),
    /// At the oldest entry, going on.
    Oldest,
}

impl WindowFrom {
    fn is_rising(self) -> bool {
        matches!(self, Self::Since(_) | Self::Oldest)
    }

    /// The part of entries in fold order that lies within.
    fn part<T>(self, all: &[T], day: impl Fn(&T) -> NaiveDate) -> &[T] {
        match self {
            Self::Newest | Self::Oldest => all,
            Self::Until(last) => &all[..all.partition_point(|one| day(one) <= last)],
            Self::Since(first) => &all[all.partition_point(|one| day(one) < first)..],
        }
    }
}

type Source<'a> = Peekable<Box<dyn Iterator<Item = JournalRow> + 'a>>;

/// A window of rows, newest first whichever end it was taken from.
#[must_use]
pub fn window(book: &Book, from: WindowFrom, seek: &Seek) -> Vec<JournalRow> {
    let mut sources = sources(book, from, seek);
    let mut rows: Vec<JournalRow> = Vec::new();
    while let Some(row) = next(&mut sources, from.is_rising()) {
        let new_day = rows
            .last()
            .is_some_and(|last| last.at().day() != row.at().day());
        if rows.len() >= WINDOW && new_day {
            break;
        }
        rows.push(row);
    }
    if from.is_rising() {
        rows.reverse();
    }
    rows
}

fn next(sources: &mut [Source<'_>], rising: bool) -> Option<JournalRow> {
    let mut best: Option<(usize, At)> = None;
    for (number, source) in sources.iter_mut().enumerate() {
        let Some(at) = source.peek().map(JournalRow::at) else {
            continue;
        };
        let better = best.is_none_or(|(_, held)| if rising { at < held } else { at > held });
        if better {
            best = Some((number, at));
        }
    }
    sources[best?.0].next()
}

fn sources<'a>(book: &'a Book, from: WindowFrom, seek: &'a Seek) -> Vec<Source<'a>> {
    let day = |standing: &Standing| standing.entry.at.day();
    let rising = from.is_rising();
    let stands = from.part(book.entries(), day);
    let withdrawn = from.part(book.withdrawn(), day);
    let corrections = from.part(book.corrections(), |one| day(&one.standing));
    let meant = move |row: &JournalRow| seek.takes(book, row.entry());
    let mut out: Vec<Source<'a>> = vec![
        either(
            stands.iter().cloned().map(JournalRow::Stands).filter(meant),
            rising,
        ),
        either(
            withdrawn
                .iter()
                .cloned()
                .map(JournalRow::Withdrawn)
                .filter(meant),
            rising,
        ),
        either(
            corrections
                .iter()
                .cloned()
                .map(JournalRow::Correction)
                .filter(meant),
            rising,
        ),
    ];
    let places = book.places().all().iter();
    for place in places.filter(|place| seek.takes_climate(&place.name)) {
        let readings = book.readings(&place.name);
        let readings = match from {
            WindowFrom::Until(last) => readings.until(last),
            WindowFrom::Since(first) => readings.since(first),
            WindowFrom::Newest | WindowFrom::Oldest => readings,
        };
        out.push(either(readings.standings().map(JournalRow::Stands), rising));
    }
    out
}

fn either<'a>(rows: impl DoubleEndedIterator<Item = JournalRow> + 'a, rising: bool) -> Source<'a> {
    let rows: Box<dyn Iterator<Item = JournalRow> + 'a> = if rising {
        Box::new(rows)
    } else {
        Box::new(rows.rev())
    };
    rows.peekable()
}
