//! A scanner shaped for climate lines as this program writes them, for journals with loggers in
//! them. It gives nothing as soon as anything is unusual: the general reader then decides.

use crate::model::at::At;
use crate::model::entry::{Climate, Entry, Kind};
use crate::model::id::Id;
use crate::model::value::{FieldType, Value};
use chrono::{FixedOffset, NaiveDate, TimeZone};

/// The entry of a line without its `crc` and closing brace, if it has exactly the expected shape.
#[must_use]
pub fn climate(open: &str) -> Option<Entry> {
    let mut line = Cursor { rest: open };
    line.eat("{\"v\":1,\"id\":\"")?;
    let id = Id::parse(line.text()?)?;
    line.eat(",\"at\":\"")?;
    let at = time(line.text()?)?;
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
        let (number, len) = plain(rest.as_bytes())?;
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
fn plain(text: &[u8]) -> Option<(f64, usize)> {
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
fn time(text: &str) -> Option<At> {
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
