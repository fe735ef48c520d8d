//! Every entry of the journal in time order, taken a window at a time from either end, and which of them a search or a
//! filter selects. It merges only what is about to be shown, and draws nothing.

use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::settle::{Correction, Standing};
use crate::model::at::At;
use crate::model::entry::Stick;
use crate::model::filter::Filter;
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::text::{folded, place_key};
use crate::model::value::{FieldType, Value};
use chrono::NaiveDate;
use std::iter::Peekable;

/// Rows of a window at least, if there are so many; a day is never cut.
const WINDOW: usize = 400;

/// An entry, and what has become of it.
#[derive(Clone, Debug, PartialEq)]
pub enum JournalRow {
    /// It stands, perhaps amended; a climate line too.
    Stands(Standing),
    /// It is withdrawn.
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
    pub fn entry(&self) -> &PackedEntry {
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

/// The words looked for, and the batches meant; without either all is taken.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seek {
    words: Vec<String>,
    only: Filter,
}

impl Seek {
    /// Of a typed line, within a filter.
    #[must_use]
    pub fn new(text: &str, only: &Filter) -> Self {
        let words = text.to_lowercase();
        Self {
            words: words.split_whitespace().map(str::to_owned).collect(),
            only: only.clone(),
        }
    }

    /// Whether all is taken.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.words.is_empty() && self.is_wide()
    }

    fn is_wide(&self) -> bool {
        self.only == Filter::default()
    }

    /// Whether an entry is meant: it is about a batch or place meant, and every word stands in it, or the
    /// letters of one of its words in order.
    #[must_use]
    pub fn takes(&self, book: &Book, entry: &PackedEntry) -> bool {
        let meant = self.is_wide() || self.means(book, entry);
        meant && (self.words.is_empty() || self.takes_text(&text(book, entry)))
    }

    /// Whether the climate lines of a place are meant.
    #[must_use]
    pub fn takes_climate(&self, place: &str) -> bool {
        self.means_place(place) && self.takes_text(&format!("climate {place}"))
    }

    /// Whether what is about a place and no batch is meant: only a filter of that place alone means it.
    fn means_place(&self, place: &str) -> bool {
        let of_place = Filter {
            place: self.only.place.clone(),
            ..Filter::default()
        };
        let same = |wanted: &String| place_key(wanted) == place_key(place);
        self.is_wide() || (self.only == of_place && self.only.place.as_ref().is_some_and(same))
    }

    /// Whether an entry is about a batch or a place that the filter means; an amend or a withdraw is about
    /// what its target is about.
    fn means(&self, book: &Book, entry: &PackedEntry) -> bool {
        if let Some(of) = entry.target() {
            let gone = || book.withdrawn().iter().find(|one| one.entry.id == of);
            let target = book.entry(&of).or_else(gone);
            let corrects = |entry: &PackedEntry| entry.name().corrects();
            return target.is_some_and(|it| !corrects(&it.entry) && self.means(book, &it.entry));
        }
        if let Some(batch) = batch_about(book, entry) {
            return self.only.admits(book, batch);
        }
        if let Some(stick) = entry.get::<Stick>() {
            // Taken back: there is no batch to ask.
            let taxon = self.only.taxon.as_ref();
            return taxon.is_some_and(|name| folded(&stick.taxon).contains(&folded(name)));
        }
        place_named(entry).is_some_and(|place| self.means_place(&place))
    }

    /// Whether a text is meant.
    #[must_use]
    pub fn takes_text(&self, text: &str) -> bool {
        let text = text.to_lowercase();
        let near = |word: &String| text.split_whitespace().any(|held| abbreviates(word, held));
        self.words
            .iter()
            .all(|word| text.contains(word.as_str()) || near(word))
    }
}

/// Whether the letters of a word stand in another in order, the first at its front: `hdct`, Hidcote.
fn abbreviates(word: &str, held: &str) -> bool {
    let held = held.trim_start_matches(|c: char| !c.is_alphanumeric());
    let mut rest = held.chars();
    word.chars().count() > 2
        && held.chars().next() == word.chars().next()
        && word.chars().all(|c| rest.any(|other| other == c))
}

/// The batch that an entry names by its identity.
pub fn stick_named(entry: &PackedEntry) -> Option<Id> {
    let fields = entry.kind().write();
    let value = fields.iter().find(|(name, _)| *name == "stick");
    Id::read(&value?.1)
}

/// The code of the batch that an entry names.
pub fn code_named(entry: &PackedEntry) -> Option<String> {
    text_of(entry, "batch")
}

/// The place that an entry names.
pub fn place_named(entry: &PackedEntry) -> Option<String> {
    text_of(entry, "place")
}

fn text_of(entry: &PackedEntry, field: &str) -> Option<String> {
    let fields = entry.kind().write().into_iter();
    let mut fields = fields.filter(|(name, _)| *name == field);
    match fields.next()? {
        (_, Value::Text(text)) => Some(text),
        _ => None,
    }
}

/// The batch that an entry began or is about.
pub fn batch_about<'a>(book: &'a Book, entry: &PackedEntry) -> Option<&'a std::sync::Arc<Batch>> {
    let begun = book.batch(&entry.id);
    let named = || book.batch(&stick_named(entry)?);
    let coded = || book.by_code(&code_named(entry)?).next_back();
    begun.or_else(named).or_else(coded)
}

/// All that an entry says, with the taxon of its batch.
fn text(book: &Book, entry: &PackedEntry) -> String {
    let mut out = entry.name().word().to_owned();
    for (name, value) in entry.kind().write() {
        out.push(' ');
        out.push_str(name);
        flat(&value, &mut out);
        if let (true, Value::Text(code)) = (name == "batch", &value)
            && let Some(batch) = book.by_code(code).next_back()
        {
            out.push(' ');
            out.push_str(&batch.taxon.shown());
        }
    }
    for said in [entry.by(), entry.note()].into_iter().flatten() {
        out.push(' ');
        out.push_str(said);
    }
    out
}

fn flat(value: &Value, out: &mut String) {
    match value {
        Value::Text(text) => {
            out.push(' ');
            out.push_str(text);
        }
        Value::Number(number) => {
            out.push(' ');
            out.push_str(&number.to_string());
        }
        Value::Map(map) => {
            for (name, value) in map {
                out.push(' ');
                out.push_str(name);
                flat(value, out);
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::{Filter, Seek};

    #[test]
    fn words_are_found_whole_in_part_or_by_their_letters() {
        let new = |words: &str| Seek::new(words, &Filter::default());
        let text = "look 26-041 Lavandula angustifolia 'Hidcote' blackened";
        for sought in ["", "hid", "041 lav", "hdct", "LAVND black"] {
            assert!(new(sought).takes_text(text), "{sought}");
        }
        for sought in ["weigela", "lav weig", "dct", "hz"] {
            assert!(!new(sought).takes_text(text), "{sought}");
        }
    }
}
