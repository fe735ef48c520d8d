//! Rows of old records as entries of the journal: ids that follow from a row's cells, a free code, the entries.

use crate::app::failure::Failure;
use crate::fold::Book;
use crate::input::records::recorded::RecordedBatch;
use crate::model::at::At;
use crate::model::entry::Entry;
use crate::model::id::Id;
use crate::model::value::{EntryFault, FieldType, Value};
use std::collections::HashSet;

/// The id of a row's sticking: from its cells; a further one where an earlier import was withdrawn.
pub(super) fn stick_id(
    line: u64,
    fingerprint: &str,
    withdrawn: &HashSet<&Id>,
) -> Result<Id, Failure> {
    for round in 1..1000 {
        let text = match round {
            1 => format!("row-{}", fingerprint),
            round => format!("row-{}-{round}", fingerprint),
        };
        match Id::parse(&text) {
            Some(id) if withdrawn.contains(&id) => {}
            Some(id) => return Ok(id),
            None => break,
        }
    }
    Err(Failure::could(format!(
        "The row on line {line} was imported too often."
    )))
}

/// The records' own code where it is free, else one of the year and the row: `24-r017`.
pub(super) fn free_code(batch: &RecordedBatch, book: &Book, given: &HashSet<String>) -> String {
    let is_free =
        |code: &str| book.by_code(code).next().is_none() && !given.contains(&code.to_lowercase());
    let own = batch.code.as_deref().map(str::trim);
    if let Some(own) = own.filter(|own| own.chars().count() <= 24 && is_free(own)) {
        return own.to_owned();
    }
    let year = book.season(batch.day).rem_euclid(100);
    let plain = format!("{year:02}-r{:03}", batch.line);
    let mut code = plain.clone();
    let mut next = 2;
    while !is_free(&code) {
        code = format!("{plain}-{next}");
        next += 1;
    }
    code
}

pub(super) fn text_field(entry: &Entry, field: &str) -> Option<String> {
    let fields = entry.to_fields();
    let (_, value) = fields.iter().find(|(name, _)| *name == field)?;
    value.text().map(str::to_owned)
}

/// The entries of a row: its sticking, then what followed.
pub(super) fn entries(
    batch: &RecordedBatch,
    stick: &Id,
    code: &str,
) -> Result<Vec<Entry>, EntryFault> {
    let text = |text: &str| Value::Text(text.to_owned());
    let mut fields = vec![
        ("id".to_owned(), text(&stick.to_string())),
        ("at".to_owned(), At::Day(batch.day).write()),
        ("kind".to_owned(), text("stick")),
        ("batch".to_owned(), text(code)),
        ("taxon".to_owned(), text(&batch.taxon)),
        ("stuck".to_owned(), Value::Number(f64::from(batch.stuck))),
    ];
    fields.extend(batch.facts.iter().cloned());
    fields.extend(
        batch
            .note
            .as_ref()
            .map(|note| ("note".to_owned(), text(note))),
    );
    let mut out = vec![Entry::from_fields(fields, || stick.clone())?];
    for (number, event) in (1..).zip(&batch.events) {
        let mut fields = vec![
            ("id".to_owned(), text(&format!("{stick}-e{number}"))),
            ("at".to_owned(), At::Day(event.day).write()),
            ("kind".to_owned(), text(event.kind)),
            ("batch".to_owned(), text(code)),
            ("stick".to_owned(), text(&stick.to_string())),
        ];
        fields.extend(event.fields.iter().cloned());
        out.push(Entry::from_fields(fields, || stick.clone())?);
    }
    Ok(out)
}
