//! A scanner shaped for climate lines as this program writes them, for journals with loggers in
//! them. It gives nothing as soon as anything is unusual: the general reader then decides.

use crate::book::at::At;
use crate::book::entry::{Climate, Entry, Kind};
use crate::book::id::Id;
use crate::book::value::{FieldType, Value};
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
        let end = rest.find(',').unwrap_or(rest.len());
        let (digits, rest) = rest.split_at_checked(end)?;
        self.rest = rest;
        let number = plain(digits).then(|| digits.parse().ok()).flatten()?;
        T::read(&Value::Number(number)).map(Some)
    }
}

/// Whether it is a JSON number without an exponent (RFC 8259, section 6).
fn plain(digits: &str) -> bool {
    let digits = digits.strip_prefix('-').unwrap_or(digits);
    let all = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
    all(whole) && (whole.len() == 1 || !whole.starts_with('0')) && all(fraction)
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
