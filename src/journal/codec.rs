//! One line to one entry and back: bytes judged, parsed, turned into the model's types. It reads no file and
//! puts no lines together. Lines as this program writes them have a quicker reader; it gives nothing as soon as
//! anything is unusual, and the general reader then decides.

use super::crc::TAIL;
use super::line::{foreign_bytes, hash, trimmed};
use super::{crc, wire, written};
use crate::model::entry::Entry;
use crate::model::fault::{Crc, LineFault};
use crate::model::id::Id;
use crate::model::value::{UnknownWord, Value};
use thiserror::Error;

/// What one line holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Decoded {
    /// What its check value says.
    pub crc: Crc,
    /// The entry, or why there is none. An entry that bears no id of its own is named as the first
    /// line of its file with these bytes.
    pub entry: Result<Entry, LineFault>,
    /// The hash the line is named by, when it needs the name.
    pub hash: Option<u64>,
    /// Words that were passed over: those not known, in fields that only describe.
    pub unknown_words: Vec<UnknownWord>,
}

/// Reads a raw line (without its newline); nothing if it is empty but for blanks.
#[must_use]
pub fn decode(raw: &[u8], opens_file: bool) -> Option<Decoded> {
    let line = trimmed(raw, opens_file);
    if line.is_empty() {
        return None;
    }
    let crc = crc::check(line);
    let text = match std::str::from_utf8(line) {
        Ok(text) => text,
        Err(error) => {
            let byte = u32::try_from(error.valid_up_to() + 1).unwrap_or(u32::MAX);
            let fault = foreign_bytes(line).unwrap_or(LineFault::NotUtf8 { byte });
            return Some(Decoded {
                crc,
                entry: Err(fault),
                hash: Some(hash(raw, opens_file)),
                unknown_words: Vec::new(),
            });
        }
    };
    if let Some(entry) = open_part(text, crc).and_then(written::entry) {
        return Some(Decoded {
            crc,
            entry: Ok(entry),
            hash: None,
            unknown_words: Vec::new(),
        });
    }
    if let Some(entry) = behind_lost_block(text) {
        return Some(Decoded {
            crc: Crc::Wrong,
            entry: Ok(entry),
            hash: None,
            unknown_words: Vec::new(),
        });
    }
    let read = general(text, crc, || Id::for_line(hash(raw, opens_file), 1));
    let (entry, unknown_words) = match read {
        Ok((entry, unknown_words)) => (Ok(entry), unknown_words),
        Err(fault) => (Err(fault), Vec::new()),
    };
    let named = entry.as_ref().is_ok_and(|entry| !entry.id.is_line());
    Some(Decoded {
        crc,
        entry,
        hash: (!named).then(|| hash(raw, opens_file)),
        unknown_words,
    })
}

/// The line without its closing brace and, if it fits, its check value.
fn open_part(text: &str, crc: Crc) -> Option<&str> {
    match crc {
        Crc::Right => text.get(..text.len().checked_sub(TAIL)?),
        Crc::Absent => text.strip_suffix('}'),
        Crc::Wrong => None,
    }
}

/// The sealed entry that follows zero bytes on one line: a disk may lose a block, newline and all,
/// that an earlier program took for written before it appended this. Damage is what it counts as.
fn behind_lost_block(text: &str) -> Option<Entry> {
    let rest = text.strip_prefix('\0')?.trim_start_matches('\0');
    let sealed = crc::check(rest.as_bytes()) == Crc::Right;
    let entry = sealed
        .then(|| general(rest, Crc::Right, || Id::for_line(0, 1)))?
        .ok()?
        .0;
    (!entry.id.is_line()).then_some(entry)
}

/// The general reader: any order of fields, anything unknown in between.
fn general(
    text: &str,
    crc: Crc,
    name: impl FnOnce() -> Id,
) -> Result<(Entry, Vec<UnknownWord>), LineFault> {
    let fields =
        wire::read(text).map_err(|fault| foreign_bytes(text.as_bytes()).unwrap_or(fault))?;
    let out_of_place = match fields.crc_is_last {
        None => false,
        Some(last) => !last || crc == Crc::Absent,
    };
    if out_of_place {
        return Err(LineFault::CrcOutOfPlace);
    }
    Entry::read(fields.named, name).map_err(LineFault::Entry)
}

/// Why an entry cannot be written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Unwritable {
    /// A number is not finite, which JSON cannot hold.
    #[error("the number in `{0}` is not finite")]
    NotFinite(&'static str),
}

/// Writes an entry as a line with its check value, without the newline: `v`, `id`, `at`, `kind`, the
/// kind's own fields in the order of their table, `by`, `note`, `crc`.
///
/// # Errors
/// When a number in it is not finite.
pub fn encode(entry: &Entry) -> Result<Vec<u8>, Unwritable> {
    let fields = entry.to_fields();
    if let Some((name, _)) = fields.iter().find(|(_, value)| !finite(value)) {
        return Err(Unwritable::NotFinite(name));
    }
    let mut text = String::new();
    wire::write_object(fields.iter().map(|(name, value)| (*name, value)), &mut text);
    Ok(crc::seal(text.as_bytes()))
}

fn finite(value: &Value) -> bool {
    match value {
        Value::Number(it) => it.is_finite(),
        Value::List(items) => items.iter().all(finite),
        Value::Map(fields) => fields.iter().all(|(_, value)| finite(value)),
        Value::Null | Value::Bool(_) | Value::Text(_) => true,
    }
}
