//! How an entry or a fault of the journal is worded on its pages. It draws nothing.

use super::feed::Row;
use crate::book::entry::Entry;
use crate::book::entry::Kind;
use crate::book::fault::{Fault, Level, Origin};
use crate::book::id::Id;
use crate::screens::common::Common;
use crate::words::bench_line::line_without_when;
use crate::words::faults::{explain, field, name, sentence};

/// What has become of it, in a word; nothing if it stands as written.
#[must_use]
pub fn fate(row: &Row) -> Option<&'static str> {
    match row {
        Row::Withdrawn(_) => Some("withdrawn"),
        Row::Correction(it) if !it.in_force => Some("withdrawn"),
        Row::Stands(it) if it.amended => Some("amended"),
        Row::Correction(it) if it.standing.amended => Some("amended"),
        _ => None,
    }
}

/// What it says as a line, without who and when.
#[must_use]
pub fn line(row: &Row, common: &Common) -> String {
    match row {
        Row::Climate(at, climate) => {
            let entry = Entry {
                id: Id::of_ulid(0),
                at: *at,
                by: None,
                note: None,
                kind: Kind::Climate(Box::new(climate.clone())),
            };
            line_without_when(&entry, &common.known)
        }
        other => {
            let entry = other.entry();
            entry.map_or_else(String::new, |entry| line_without_when(entry, &common.known))
        }
    }
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
        Level::Fault => "Fault",
        Level::Notice => "To note",
    };
    let batch = fault
        .batch
        .as_ref()
        .map_or_else(String::new, |code| format!(" {code}"));
    format!("{level}{batch}: {}", sentence(&fault.wrong))
}

/// All that there is to say of a fault, most wanted first.
#[must_use]
pub fn whole_fault(it: &Fault, common: &Common) -> Vec<String> {
    let mut out = vec![fault(it), format!("In {}.", place(it.origin, common))];
    if let Some(held) = explain(name(&it.wrong)) {
        out.push(format!("Mend: {}", held.mend));
        out.push(held.meaning.to_owned());
    }
    out.extend(field(&it.wrong).map(|field| format!("The field is {field}.")));
    out.extend(it.id.as_ref().map(|id| format!("The line is named {id}.")));
    out
}

/// All that there is to say of an entry.
#[must_use]
pub fn whole(row: &Row, common: &Common) -> Vec<String> {
    let mut out = vec![line(row, common)];
    let when = common.calendar().at(&row.at());
    let by = row.entry().and_then(|entry| entry.by.as_deref());
    let fate = fate(row).map_or_else(String::new, |fate| format!(" It is {fate}."));
    out.push(match by {
        Some(by) => format!("{when}, by {by}.{fate}"),
        None => format!("{when}.{fate}"),
    });
    if let Some(standing) = row.standing() {
        let entry = &standing.entry;
        if let Some(batch) = super::batch_of(row, common) {
            out.push(format!("Batch {}, {}.", batch.code, batch.taxon.shown()));
        }
        out.extend(corrected_by(&entry.id, common));
        out.push(format!(
            "In {}, named {}.",
            place(standing.origin, common),
            entry.id
        ));
    }
    out
}

/// The later lines that amended an entry or took it back.
fn corrected_by(id: &Id, common: &Common) -> Vec<String> {
    let names = |kind: &Kind| match kind {
        Kind::Amend(it) => it.of == *id,
        Kind::Withdraw(it) => it.of == *id,
        _ => false,
    };
    let later = common.book.corrections().iter();
    let later = later.filter(|one| names(&one.standing.entry.kind));
    later
        .map(|one| {
            let entry = &one.standing.entry;
            let when = common.calendar().at(&entry.at);
            let by = entry
                .by
                .as_ref()
                .map_or_else(String::new, |by| format!(" by {by}"));
            let held = if one.in_force {
                ""
            } else {
                " (itself withdrawn)"
            };
            format!(
                "{when}{by}{held}: {}",
                line_without_when(entry, &common.known)
            )
        })
        .collect()
}
