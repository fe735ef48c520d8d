//! The journal's own words, gathered for the reading of typed lines. It reads no files.

use super::desk::Desk;
use super::failure::Failure;
use crate::fold::Book;
use crate::fold::roster::RosterRow;
use crate::input::bench_line::{Vocabulary, VocabularyBatch};
use crate::model::at::At;
use crate::model::entry::Kind;
use crate::model::listed::Units;
use chrono::NaiveDate;
use std::sync::Arc;

/// What the journal knows, for a line that is entered at this time.
///
/// # Errors
/// If this machine's own letter can be neither read nor kept.
pub fn vocabulary(desk: &mut Desk, at: At) -> Result<Vocabulary, Failure> {
    vocabulary_after(None, desk, at)
}

/// As [`vocabulary`], sharing what it can with the one before.
///
/// # Errors
/// As [`vocabulary`].
pub fn vocabulary_after(
    before: Option<&Vocabulary>,
    desk: &mut Desk,
    at: At,
) -> Result<Vocabulary, Failure> {
    let code = desk.next_code(at)?;
    // A short code means a batch that is there, so a day ahead does not make it one of a season to come.
    let today = desk.clock().now().date_naive();
    let mut known = known_after(before, desk.book(), at.day().min(today));
    known.next_code = Some(code);
    Ok(known)
}

/// What a book knows, for lines of this day.
#[must_use]
pub fn vocabulary_of(book: &Arc<Book>, day: NaiveDate) -> Vocabulary {
    known_after(None, book, day)
}

fn known_after(before: Option<&Vocabulary>, book: &Arc<Book>, day: NaiveDate) -> Vocabulary {
    let mut known = Vocabulary::new(book.season(day));
    known.units = book.nursery().units.unwrap_or(Units::C);
    let batch = |row: &RosterRow| VocabularyBatch {
        code: row.code.to_string(),
        key: row.key.clone(),
        taxon: row.taxon.to_string(),
    };
    match before.filter(|before| before.book.shares_roster(book)) {
        Some(before) => known.share_batches(before),
        None => known.add_batches(book.roster().iter().map(batch)),
    }
    known.book = Arc::clone(book);
    for entry in book.speakers() {
        learn_kind(&mut known, &entry.kind);
        learn(&mut known, "by", entry.by.as_deref());
    }
    for place in book.places().all() {
        learn(&mut known, "place", Some(&place.name));
    }
    known
}

fn learn(known: &mut Vocabulary, field: &'static str, text: Option<&str>) {
    if let Some(text) = text {
        known.learn(field, text);
    }
}

/// The fields whose texts a typed line may name again: some of those that make an entry one of the book's speakers.
const LEARNED: [&str; 6] = ["taxon", "place", "medium", "container", "source", "trial"];

fn learn_kind(known: &mut Vocabulary, kind: &Kind) {
    kind.visit_texts(&mut |field, text| match (field, kind) {
        ("aliases", Kind::Taxon(_)) => known.learn("alias", text),
        _ if LEARNED.contains(&field) => known.learn(field, text),
        _ => {}
    });
}
