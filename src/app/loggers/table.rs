//! A logger's file opened: decoded, and made wide where it has a row a reading; and which of its columns name another place.

use crate::app::failure::Failure;
use crate::app::files;
use crate::fold::Book;
use crate::input::encoding::utf16;
use crate::input::logger::guess::cell_text;
use crate::input::logger::long::{WidenedTable, may_be_long, widened};
use crate::input::logger::{LayoutQuestion, LoggerLayout};
use crate::model::text::folded;
use std::io::{Cursor, Read};
use std::path::Path;

/// Bytes from which a file's layout is guessed.
pub(super) const FIRST: u64 = 1 << 16;
/// Bytes of a file that is held whole: in UTF-16, or with a row a reading.
pub(super) const LONGEST_HELD: u64 = 256 << 20;
/// A logger's table on its way in.
pub(super) struct LoggerTable {
    pub(super) input: Box<dyn Read>,
    /// If it had a row a reading: how it was made wide.
    pub(super) widened: Option<WidenedTable>,
}

impl LoggerTable {
    /// Of a text that is held; made wide if it has a row a reading.
    pub(super) fn of_text(text: Vec<u8>, ask: &LayoutQuestion) -> Self {
        let start = &text[..text.len().min(FIRST as usize)];
        let widened = is_long(start, ask).then(|| widened(&cell_text(&text), ask.between));
        let mut widened = widened.flatten();
        let text = match &mut widened {
            Some(table) => std::mem::take(&mut table.text).into_bytes(),
            None => text,
        };
        Self {
            input: Box::new(Cursor::new(text)),
            widened,
        }
    }
}

/// Whether the first part of a table is of one that may have a row a reading. Where the headings are given, it is not asked.
pub(super) fn is_long(start: &[u8], ask: &LayoutQuestion) -> bool {
    ask.heading.is_none() && may_be_long(&cell_text(start), ask.between)
}

/// A file, opened at its start.
pub(super) fn open(path: &Path, ask: &LayoutQuestion) -> Result<LoggerTable, Failure> {
    let shown = path.display();
    let failed =
        |error: std::io::Error| Failure::could(format!("{shown} cannot be read: {error}."));
    let (mut file, again) = files::foreign(path).map_err(failed)?;
    if !again {
        return Err(
            Failure::could(format!("{shown} is a pipe, which can be read only once."))
                .hint("Hand it in on standard input: `struck climate import - < PIPE`."),
        );
    }
    let mut text = Vec::new();
    let read = (&mut file).take(FIRST).read_to_end(&mut text);
    read.map_err(failed)?;
    let encoding = utf16(&text);
    if encoding.is_none() && !is_long(&text, ask) {
        return Ok(LoggerTable {
            input: Box::new(Cursor::new(text).chain(file)),
            widened: None,
        });
    }
    let read = file.take(LONGEST_HELD + 1).read_to_end(&mut text);
    if read.map_err(failed)? as u64 > LONGEST_HELD {
        let mib = LONGEST_HELD >> 20;
        return Err(Failure::could(format!("{shown} is longer than {mib} MiB."))
            .hint("Export it in parts: the same readings again add nothing."));
    }
    let text = match encoding {
        Some(encoding) => encoding.decode(&text).0.into_owned().into_bytes(),
        None => text,
    };
    Ok(LoggerTable::of_text(text, ask))
}

/// The columns whose headings name another place of the journal, or of the table itself, than the one asked for; those that
/// somebody said what they hold are not asked about again.
pub(super) fn other_places(
    book: &Book,
    layout: &LoggerLayout,
    named: &[String],
    place: &str,
    ask: &LayoutQuestion,
) -> Vec<(String, String)> {
    let words = |text: &str| {
        let spaced = text.replace(|c: char| !c.is_alphanumeric(), " ");
        format!(" {} ", folded(&spaced))
    };
    let known = book.places().all().iter().map(|place| place.name.clone());
    let mut places: Vec<String> = known.chain(named.iter().cloned()).collect();
    places.push(place.to_owned());
    // Of `bench` and `bench 2` the longer is meant where both are in the heading.
    places.sort_by_key(|place| std::cmp::Reverse(words(place).len()));
    let is_said = |role| ask.columns.iter().any(|(said, ..)| *said == role);
    let columns = layout.columns.iter();
    let asked = columns.filter(|column| {
        column
            .role
            .is_some_and(|role| !role.is_when() && !is_said(role))
    });
    asked
        .filter_map(|column| {
            let heading = words(&column.heading);
            let found = places.iter().find(|place| {
                let place = words(place);
                place.trim().len() > 1 && heading.contains(&place)
            })?;
            let is_other = book.places().key(found) != book.places().key(place);
            is_other.then(|| (column.heading.clone(), found.clone()))
        })
        .collect()
}
