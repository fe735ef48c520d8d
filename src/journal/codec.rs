//! One line to one entry and back: bytes judged, parsed, turned into the model's types. It reads no file and
//! puts no lines together. Climate lines as this program writes them have a scanner of their own, for journals
//! with loggers in them; it gives nothing as soon as anything is unusual, and the general reader then decides.

use super::crc::TAIL;
use super::line::{foreign_bytes, hash, trimmed};
use super::{crc, wire};
use crate::model::at::At;
use crate::model::entry::{Climate, Entry, Kind};
use crate::model::fault::{Crc, LineFault};
use crate::model::id::Id;
use crate::model::value::{FieldType, UnknownWord, Value};
use chrono::{FixedOffset, NaiveDate, TimeZone};
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
    if let Some(entry) = open_part(text, crc).and_then(climate_line) {
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

/// The entry of a line without its `crc` and closing brace, if it has exactly the expected shape.
#[must_use]
pub fn climate_line(open: &str) -> Option<Entry> {
    let mut line = Cursor { rest: open };
    line.eat("{\"v\":1,\"id\":\"")?;
    let id = Id::parse(line.text()?)?;
    line.eat(",\"at\":\"")?;
    let at = written_time(line.text()?)?;
    line.eat(",\"kind\":\"climate\",\"place\":\"")?;
    let place = line.words()?;
    let climate = Climate {
        place,
        air_c: line.number(",\"air_c\":")?,
        rh_pct: line.number(",\"rh_pct\":")?,
        leaf_c: line.number(",\"leaf_c\":")?,
        medium_c: line.number(",\"medium_c\":")?,
        mist_on_s: line.number(",\"mist_on_s\":")?,
        mist_every_s: line.number(",\"mist_every_s\":")?,
        ppfd: line.number(",\"ppfd\":")?,
        vent: line.optional(",\"vent\":\"")?,
    };
    let by = line.optional(",\"by\":\"")?;
    let note = line.optional(",\"note\":\"")?;
    line.rest.is_empty().then(|| Entry {
        id,
        at,
        by,
        note,
        kind: Kind::Climate(Box::new(climate)),
    })
}

struct Cursor<'a> {
    rest: &'a str,
}

impl<'a> Cursor<'a> {
    fn eat(&mut self, expected: &str) -> Option<()> {
        self.rest = self.rest.strip_prefix(expected)?;
        Some(())
    }

    /// The text up to the closing quote, if nothing in it is escaped.
    fn text(&mut self) -> Option<&'a str> {
        let end = self
            .rest
            .bytes()
            .position(|b| b == b'"' || b == b'\\' || b < b' ')?;
        let (text, rest) = self.rest.split_at_checked(end)?;
        self.rest = rest.strip_prefix('"')?;
        Some(text)
    }

    fn words(&mut self) -> Option<String> {
        String::read(&Value::Text(self.text()?.to_owned()))
    }

    fn optional(&mut self, key: &str) -> Option<Option<String>> {
        match self.rest.strip_prefix(key) {
            None => Some(None),
            Some(rest) => {
                self.rest = rest;
                self.words().map(Some)
            }
        }
    }

    /// A number of the field's own type, or that the field is absent; nothing if it is unfit.
    fn number<T: FieldType>(&mut self, key: &str) -> Option<Option<T>> {
        let Some(rest) = self.rest.strip_prefix(key) else {
            return Some(None);
        };
        let (number, len) = decimal(rest.as_bytes())?;
        self.rest = rest.get(len..)?;
        T::read(&Value::Number(number)).map(Some)
    }
}

/// Powers of ten that a float holds exactly, as far as they are needed.
const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// A JSON number (RFC 8259, section 6) at the beginning of the text, if it has no exponent and at
/// most fifteen digits, and its length. Digits and power of ten are then both exact as floats, so
/// that their quotient is the nearest float (W. D. Clinger, How to read floating point numbers
/// accurately, 1990).
fn decimal(text: &[u8]) -> Option<(f64, usize)> {
    let minus = usize::from(text.first() == Some(&b'-'));
    let (mut digits, mut point, mut at) = (0_u64, None, minus);
    while let Some(&byte) = text.get(at) {
        match byte {
            b'0'..=b'9' => {
                digits = digits
                    .checked_mul(10)?
                    .checked_add(u64::from(byte - b'0'))?
            }
            b'.' if point.is_none() => point = Some(at),
            b',' => break,
            _ => return None,
        }
        at += 1;
    }
    let end = point.unwrap_or(at);
    let (whole, fraction) = (end - minus, at - end);
    let leads_with_zero = whole > 1 && text.get(minus) == Some(&b'0');
    if whole == 0 || leads_with_zero || fraction == 1 || whole + fraction > 16 {
        return None;
    }
    let value = digits as f64 / TENS.get(fraction.saturating_sub(1))?;
    Some((if minus == 1 { -value } else { value }, at))
}

/// A time as this program writes it, `2026-06-14T16:30:00+02:00`.
fn written_time(text: &str) -> Option<At> {
    let bytes: &[u8; 25] = text.as_bytes().try_into().ok()?;
    let marks = [
        (4, b'-'),
        (7, b'-'),
        (10, b'T'),
        (13, b':'),
        (16, b':'),
        (22, b':'),
    ];
    if marks.iter().any(|&(at, mark)| bytes[at] != mark) {
        return None;
    }
    let two = |at: usize| {
        let (tens, ones) = (
            bytes[at].wrapping_sub(b'0'),
            bytes[at + 1].wrapping_sub(b'0'),
        );
        (tens < 10 && ones < 10).then(|| u32::from(tens * 10 + ones))
    };
    let year = two(0)? * 100 + two(2)?;
    let date = NaiveDate::from_ymd_opt(year.cast_signed(), two(5)?, two(8)?)?;
    let local = date.and_hms_opt(two(11)?, two(14)?, two(17)?)?;
    let (hours, minutes) = (two(20)?, two(23)?);
    if year == 0 || hours > 23 || minutes > 59 {
        return None;
    }
    let east = (hours * 3600 + minutes * 60).cast_signed();
    let offset = match bytes[19] {
        b'+' => FixedOffset::east_opt(east)?,
        b'-' => FixedOffset::west_opt(east)?,
        _ => return None,
    };
    offset.from_local_datetime(&local).single().map(At::Time)
}
