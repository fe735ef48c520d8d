//! When an entry was made, as written. Days are never converted between zones.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, SecondsFormat};
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

/// Reads a bare `YYYY-MM-DD`, four digits of year from 1 on.
#[must_use]
pub fn day(text: &str) -> Option<NaiveDate> {
    let bytes = text.as_bytes();
    let shaped = bytes.len() == 10
        && bytes.iter().enumerate().all(|(at, b)| match at {
            4 | 7 => *b == b'-',
            _ => b.is_ascii_digit(),
        });
    shaped
        .then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok())
        .flatten()
}

impl Ord for At {
    /// Fold order: by day as written, a bare day before times, then by instant.
    fn cmp(&self, other: &Self) -> Ordering {
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
