//! When an entry was made, as written. Days are never converted between zones.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, SecondsFormat, TimeZone};
use std::cmp::Ordering;
use std::fmt;

/// The time of an entry: a bare day, or an instant with the offset of the place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum At {
    /// A day alone, as `2026-06-14`.
    Day(NaiveDate),
    /// A date and time with its offset, as `2026-06-14T16:30:00+02:00`.
    Time(DateTime<FixedOffset>),
}

impl At {
    /// Reads RFC 3339 or a bare `YYYY-MM-DD`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        if text.len() == 10 {
            return day(text).map(Self::Day);
        }
        if let Some(time) = to_the_second(text) {
            return Some(Self::Time(time));
        }
        // The crate's reader is laxer than the standard: it takes `:60` and a space.
        let strict = text.len() >= 20
            && text.is_ascii()
            && text.as_bytes()[10].eq_ignore_ascii_case(&b'T')
            && &text[17..19] != "60"
            && day(&text[..10]).is_some();
        let time = strict
            .then(|| DateTime::parse_from_rfc3339(text).ok())
            .flatten()?;
        Some(Self::Time(time))
    }

    /// The day as written, whatever the offset.
    #[must_use]
    pub fn day(&self) -> NaiveDate {
        match self {
            Self::Day(day) => *day,
            Self::Time(time) => time.naive_local().date(),
        }
    }

    /// The local clock as written, if a time was given.
    #[must_use]
    pub fn local(&self) -> Option<NaiveDateTime> {
        match self {
            Self::Day(_) => None,
            Self::Time(time) => Some(time.naive_local()),
        }
    }
}

/// Reads a bare `YYYY-MM-DD`, four digits of year.
#[must_use]
pub fn day(text: &str) -> Option<NaiveDate> {
    let bytes: &[u8; 10] = text.as_bytes().try_into().ok()?;
    if bytes[4] != b'-' || bytes[7] != b'-' {
        return None;
    }
    let year = two_digits(bytes, 0)? * 100 + two_digits(bytes, 2)?;
    let (month, day) = (two_digits(bytes, 5)?, two_digits(bytes, 8)?);
    NaiveDate::from_ymd_opt(year.cast_signed(), month, day)
}

/// The number of two digits that stand there.
fn two_digits(bytes: &[u8], at: usize) -> Option<u32> {
    let digit = |at: usize| {
        let digit = bytes.get(at)?.wrapping_sub(b'0');
        (digit < 10).then_some(u32::from(digit))
    };
    Some(digit(at)? * 10 + digit(at + 1)?)
}

/// A time as this program writes it, `2026-06-14T16:30:00+02:00`: read without the crate's reader, as most are written so.
fn to_the_second(text: &str) -> Option<DateTime<FixedOffset>> {
    let bytes: &[u8; 25] = text.as_bytes().try_into().ok()?;
    let marks = [(10, b'T'), (13, b':'), (16, b':'), (22, b':')];
    if marks.iter().any(|&(at, mark)| bytes[at] != mark) {
        return None;
    }
    let two = |at: usize| two_digits(bytes, at);
    let local = day(text.get(..10)?)?.and_hms_opt(two(11)?, two(14)?, two(17)?)?;
    let (hours, minutes) = (two(20)?, two(23)?);
    if hours > 23 || minutes > 59 {
        return None;
    }
    let east = (hours * 3600 + minutes * 60).cast_signed();
    let offset = match bytes[19] {
        b'+' => FixedOffset::east_opt(east)?,
        b'-' => FixedOffset::west_opt(east)?,
        _ => return None,
    };
    offset.from_local_datetime(&local).single()
}

impl Ord for At {
    /// Fold order: by day as written, a bare day before times, then by instant.
    fn cmp(&self, other: &Self) -> Ordering {
        // With one offset, the order of instants is that of days as well.
        if let (Self::Time(a), Self::Time(b)) = (self, other)
            && a.offset() == b.offset()
        {
            return a.cmp(b);
        }
        self.day()
            .cmp(&other.day())
            .then_with(|| match (self, other) {
                (Self::Day(_), Self::Day(_)) => Ordering::Equal,
                (Self::Day(_), Self::Time(_)) => Ordering::Less,
                (Self::Time(_), Self::Day(_)) => Ordering::Greater,
                (Self::Time(a), Self::Time(b)) => a.cmp(b).then(
                    a.offset()
                        .local_minus_utc()
                        .cmp(&b.offset().local_minus_utc()),
                ),
            })
    }
}

impl PartialOrd for At {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for At {
    /// As the journal writes it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Day(day) => write!(f, "{}", day.format("%Y-%m-%d")),
            Self::Time(time) => f.write_str(&time.to_rfc3339_opts(SecondsFormat::AutoSi, false)),
        }
    }
}
