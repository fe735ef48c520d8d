//! How an entry or a fault of the journal is worded on its pages. It draws nothing.

use super::feed::{JournalRow, batch_about, code_named, place_named, stick_named};
use crate::fold::Book;
use crate::input::bench_line::line_without_when;
use crate::model::fault::{Fault, Origin, Severity};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::text::faults::{explain, field, mend_at_the_bench, name, sentence};
use crate::tui::common::Common;

/// What has become of an entry, in a word; nothing if it stands as written.
#[must_use]
pub fn fate(row: &JournalRow, book: &Book) -> Option<&'static str> {
    match row {
        JournalRow::Stands(it) if gone_along(&it.entry, book) => Some("withdrawn with its batch"),
        JournalRow::Withdrawn(_) => Some("withdrawn"),
        JournalRow::Correction(it) if !it.in_force => Some("withdrawn"),
        JournalRow::Stands(it) if it.amended => Some("amended"),
        JournalRow::Correction(it) if it.standing.amended => Some("amended"),
        _ => None,
    }
}

/// Whether its batch was withdrawn, so that it counts nowhere any more although nobody withdrew the entry itself.
fn gone_along(entry: &PackedEntry, book: &Book) -> bool {
    let Some(stick) = stick_named(entry) else {
        return false;
    };
    if book.batch(&stick).is_some() {
        return false;
    }
    let withdrawn = book.withdrawn().iter().any(|one| one.entry.id == stick);
    // A part goes with the batch that it left.
    let parted = || {
        book.entry(&stick)
            .is_some_and(|it| gone_along(&it.entry, book))
    };
    withdrawn || parted()
}

/// A row of the journal as a line, without who and when.
#[must_use]
pub fn line(row: &JournalRow, common: &Common) -> String {
    entry_line(row.entry(), common)
}

/// An entry as a line, without who and when; an amend or a withdraw names what it is of, not its id alone.
#[must_use]
pub fn entry_line(entry: &PackedEntry, common: &Common) -> String {
    let line = line_without_when(&entry.whole(), &common.vocabulary);
    let line = line
        .strip_suffix(&format!(": on {}", entry.at))
        .unwrap_or(&line);
    if let Some(of) = entry.target() {
        let named = target(&of, common).map_or_else(String::new, |it| of_what(it, common));
        return line
            .replacen(&of.to_string(), &named, 1)
            .trim_end()
            .to_owned();
    }
    // A batch that is there no more has no code for the reader to know.
    match stick_named(entry).zip(code_named(entry)) {
        Some((stick, code)) => {
            let kind = entry.name().word();
            let told = format!("{kind} batch=\"{code}\", id {stick}, ");
            let rest = line.strip_prefix(&told);
            rest.map_or_else(|| line.to_owned(), |rest| format!("{kind} {code}: {rest}"))
        }
        None => line.to_owned(),
    }
}

/// The entry of that id, standing or not.
fn target<'a>(of: &Id, common: &'a Common) -> Option<&'a PackedEntry> {
    let gone = || {
        common
            .book
            .withdrawn()
            .iter()
            .find(|one| one.entry.id == *of)
    };
    let found = common.book.entry(of).or_else(gone);
    found.map(|it| &it.entry)
}

/// An entry in few words: what kind, of which batch or place, on which day.
fn of_what(entry: &PackedEntry, common: &Common) -> String {
    let about = match code_named(entry).or_else(|| place_named(entry)) {
        Some(about) => format!(" {about}"),
        None => String::new(),
    };
    let day = common.calendar().day(entry.at.day());
    format!("of {}{about}, {day}", entry.name().word())
}

/// Where a line stands: file and number.
#[must_use]
pub fn place(origin: Origin, common: &Common) -> String {
    let file = usize::try_from(origin.file).ok();
    let file = file
        .and_then(|at| common.files.get(at))
        .map_or("a file", String::as_str);
    match origin.line {
        0 => file.to_owned(),
        line => format!("{file}, line {line}"),
    }
}

/// A fault in one line.
#[must_use]
pub fn fault(fault: &Fault) -> String {
    let level = match fault.level() {
        Severity::Fault => "Fault",
        Severity::Notice => "Notice",
    };
    let batch = fault
        .batch
        .as_ref()
        .map_or_else(String::new, |code| format!(" {code}"));
    format!("{level}{batch}: {}", sentence(&fault.wrong))
}

/// All that there is to say of a fault, what is to be done first: what is wrong stands in the list above it.
#[must_use]
pub fn whole_fault(it: &Fault, common: &Common) -> Vec<String> {
    let mut out = Vec::new();
    let held = explain(name(&it.wrong));
    out.extend(held.map(|held| format!("To do: {}", mend_at_the_bench(held.mend))));
    out.push(format!(
        "{} It is in {}.",
        fault(it),
        place(it.origin, common)
    ));
    out.extend(held.map(|held| held.meaning.to_owned()));
    out.extend(field(&it.wrong).map(|field| format!("The field is {field}.")));
    out.extend(it.id.as_ref().map(|id| format!("The line is named {id}.")));
    out
}

/// All that there is to say of an entry.
#[must_use]
pub fn whole(row: &JournalRow, common: &Common) -> Vec<String> {
    let mut out = vec![line(row, common)];
    let when = common.calendar().at(&row.at());
    let by = row.entry().by();
    let fate = fate(row, &common.book).map_or_else(String::new, |fate| format!(" It is {fate}."));
    out.push(match by {
        Some(by) => format!("{when}, by {by}.{fate}"),
        None => format!("{when}.{fate}"),
    });
    let standing = row.standing();
    if let Some(batch) = batch_about(&common.book, row.entry()) {
        out.push(format!("Batch {}, {}.", batch.code, batch.taxon.shown()));
    }
    out.extend(corrected_by(&standing.entry.id, common));
    let place = place(standing.origin, common);
    out.push(format!("In {place}, named {}.", standing.entry.id));
    out
}

/// The later lines that amended or withdrew an entry.
fn corrected_by(id: &Id, common: &Common) -> Vec<String> {
    let later = common.book.corrections().iter();
    let later = later.filter(|one| one.standing.entry.target().as_ref() == Some(id));
    later
        .map(|one| {
            let entry = &one.standing.entry;
            let when = common.calendar().at(&entry.at);
            let by = entry
                .by()
                .map_or_else(String::new, |by| format!(" by {by}"));
            let held = if one.in_force {
                ""
            } else {
                " (itself withdrawn)"
            };
            format!("{when}{by}{held}: {}", entry_line(entry, common))
        })
        .collect()
}
