//! Dates and times as loggers write them. It guesses no order of day and month: the whole file decides, or the user.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, Utc};

/// Which of two numbers before the year is the day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DayOrder {
    /// 14/6/2026.
    DayFirst,
    /// 6/14/2026.
    MonthFirst,
}

/// A moment as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoggerStamp {
    /// On a clock whose zone is not said.
    Local(NaiveDateTime),
    /// With its offset.
    Fixed(DateTime<FixedOffset>),
    /// As seconds since 1970: an instant without a place.
    Instant(DateTime<Utc>),
}

/// A date before it is known which number is the day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Date {
    Plain(NaiveDate),
    TwoFirst {
        first: u32,
        second: u32,
        year: i32,
        dotted: bool,
    },
}

/// A moment read but for the order of day and month.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StampScan {
    date: Date,
    time: Option<NaiveTime>,
    offset: Option<FixedOffset>,
}

/// What some dates say of the order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DayOrderEvidence {
    /// Dates whose day cannot be a month, in first place.
    pub day_first: u64,
    /// Dates whose day cannot be a month, in second place.
    pub month_first: u64,
    /// Dates that could be either, and differ by the order.
    pub either: u64,
    /// Of all these, those with dots between.
    pub dotted: u64,
}

impl DayOrderEvidence {
    /// Takes note of a date.
    pub fn see(&mut self, scan: &StampScan) {
        let Date::TwoFirst {
            first,
            second,
            dotted,
            ..
        } = scan.date
        else {
            return;
        };
        match (first > 12, second > 12) {
            (true, false) => self.day_first += 1,
            (false, true) => self.month_first += 1,
            (false, false) if first != second => self.either += 1,
            _ => {}
        }
        self.dotted += u64::from(dotted);
    }

    /// The order, if it follows: from a day above 12, else from dots, with which the day stands
    /// first (common practice; ISO 8601 and the slashed forms differ).
    #[must_use]
    pub fn order(&self) -> Option<DayOrder> {
        match (self.day_first, self.month_first) {
            (0, 0) if self.either == 0 || self.dotted > 0 => Some(DayOrder::DayFirst),
            (0, 0) => None,
            (days, months) if days >= months => Some(DayOrder::DayFirst),
            _ => Some(DayOrder::MonthFirst),
        }
    }

    /// Whether the order follows without one more row.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.day_first + self.month_first > 0
    }
}

/// Takes numbers, words and signs off the front of a text.
struct Cursor<'a>(&'a str);

impl<'a> Cursor<'a> {
    fn take(&mut self, is: impl Fn(char) -> bool) -> &'a str {
        let end = self.0.find(|c| !is(c)).unwrap_or(self.0.len());
        let (taken, rest) = self.0.split_at(end);
        self.0 = rest;
        taken
    }

    /// A number of at most `most` digits, and how many it had.
    fn number(&mut self, most: usize) -> Option<(u32, usize)> {
        let digits = self.take(|c| c.is_ascii_digit());
        let fits = (1..=most).contains(&digits.len());
        Some((digits.parse().ok().filter(|_| fits)?, digits.len()))
    }

    fn eat(&mut self, signs: &[char]) -> Option<char> {
        let first = self.0.chars().next().filter(|c| signs.contains(c))?;
        self.0 = &self.0[first.len_utf8()..];
        Some(first)
    }

    fn spaces(&mut self) {
        self.0 = self.0.trim_start_matches([' ', '\t', '\u{a0}', '\u{202f}']);
    }
}

const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// Reads a moment or a day; nothing if it is none.
#[must_use]
pub fn scan(text: &str) -> Option<StampScan> {
    let mut at = Cursor(text.trim());
    let date = date(&mut at)?;
    at.spaces();
    at.eat(&['T', 't', ',']);
    at.spaces();
    let time = if at.0.is_empty() {
        None
    } else {
        Some(time(&mut at)?)
    };
    at.spaces();
    let offset = if at.0.is_empty() {
        None
    } else {
        Some(offset(at.0)?)
    };
    Some(StampScan { date, time, offset })
}

/// The serial days that are taken for days: 1954 to 2119. Smaller numbers are likelier counts.
const SERIALS: std::ops::Range<f64> = 20_000.0..80_000.0;

/// The moment of a serial day as spreadsheets keep it: days since 30 December 1899 and the part of the day (ECMA-376 part
/// 1, 18.17.4), to the second.
#[must_use]
pub fn serial(days: f64) -> Option<NaiveDateTime> {
    let begin = NaiveDate::from_ymd_opt(1899, 12, 30)?.and_time(NaiveTime::MIN);
    let seconds = SERIALS
        .contains(&days)
        .then(|| (days * 86_400.0).round() as i64)?;
    begin.checked_add_signed(chrono::TimeDelta::seconds(seconds))
}

/// A moment written as a number: seconds, or thousandths of them, since 1970 (a whole number of 9 to 10, or of 12 to 13
/// digits), or a serial day of five digits.
#[must_use]
pub fn instant(text: &str) -> Option<LoggerStamp> {
    let text = text.trim();
    if text
        .split(['.', ','])
        .next()
        .is_some_and(|whole| whole.len() == 5)
    {
        let local = serial(text.replace(',', ".").parse().ok()?);
        return local.map(LoggerStamp::Local);
    }
    let digits = text.split_once('.').map_or(text, |(whole, _)| whole);
    let number: i64 = digits
        .bytes()
        .all(|b| b.is_ascii_digit())
        .then(|| digits.parse().ok())
        .flatten()?;
    let seconds = match digits.len() {
        9 | 10 => number,
        12 | 13 => number / 1000,
        _ => return None,
    };
    DateTime::from_timestamp(seconds, 0).map(LoggerStamp::Instant)
}

fn date(at: &mut Cursor<'_>) -> Option<Date> {
    if at.0.starts_with(|c: char| c.is_ascii_alphabetic()) {
        let month = month(at)?;
        at.spaces();
        let (day, _) = at.number(2)?;
        at.eat(&[',']);
        at.spaces();
        return plain(at.number(4)?, month, day);
    }
    let (first, digits) = at.number(4)?;
    at.spaces();
    let between = at.eat(&['-', '/', '.']);
    at.spaces();
    if at.0.starts_with(|c: char| c.is_ascii_alphabetic()) {
        let month = month(at)?;
        at.spaces();
        at.eat(&['-', '/', '.']);
        at.spaces();
        return plain(at.number(4)?, month, first);
    }
    let between = between?;
    let (second, _) = at.number(2)?;
    at.eat(&[between])?;
    at.spaces();
    let third = at.number(4)?;
    if digits == 4 {
        return plain((first, 4), second, third.0).filter(|_| third.1 <= 2);
    }
    Some(Date::TwoFirst {
        first,
        second,
        year: year(third)?,
        dotted: between == '.',
    })
    .filter(|_| digits <= 2)
}

fn month(at: &mut Cursor<'_>) -> Option<u32> {
    let word = at.take(|c| c.is_ascii_alphabetic());
    at.eat(&['.']);
    let short = word.get(..3)?.to_ascii_lowercase();
    let number = MONTHS.iter().position(|m| *m == short)?;
    u32::try_from(number + 1).ok()
}

/// Two digits are of this century.
fn year((number, digits): (u32, usize)) -> Option<i32> {
    let year = i32::try_from(number).ok()?;
    match digits {
        2 => Some(2000 + year),
        4 => Some(year),
        _ => None,
    }
}

fn plain(of: (u32, usize), month: u32, day: u32) -> Option<Date> {
    NaiveDate::from_ymd_opt(year(of)?, month, day).map(Date::Plain)
}

fn time(at: &mut Cursor<'_>) -> Option<NaiveTime> {
    let (hour, _) = at.number(2)?;
    let minute = match at.eat(&[':', '.', 'h']) {
        Some(_) => at.number(2)?.0,
        None => 0,
    };
    let second = match at.eat(&[':', '.']) {
        Some(_) => at.number(2)?.0,
        None => 0,
    };
    if at.eat(&['.', ',']).is_some() {
        at.take(|c| c.is_ascii_digit());
    }
    at.spaces();
    let hour = half_day(at, hour)?;
    NaiveTime::from_hms_opt(hour, minute, second)
}

/// The hour on a clock of 24, the word for the half of the day taken off if it is there.
fn half_day(at: &mut Cursor<'_>, hour: u32) -> Option<u32> {
    let next = at.0.get(..1).map(str::to_ascii_lowercase);
    let noon = match next.as_deref() {
        Some("a") => 0,
        Some("p") => 12,
        _ => return Some(hour),
    };
    let word = at.take(|c| c.is_ascii_alphabetic() || c == '.');
    let is_one = matches!(
        &*word.to_ascii_lowercase(),
        "am" | "pm" | "a.m." | "p.m." | "a" | "p"
    );
    ((1..=12).contains(&hour) && is_one).then_some(hour % 12 + noon)
}

/// An offset: `Z`, `UTC`, `+02:00`, `+0200`, `+02`, `GMT+2`.
#[must_use]
pub fn offset(text: &str) -> Option<FixedOffset> {
    let upper = text.trim().to_ascii_uppercase();
    let rest = ["UTC", "GMT", "Z"]
        .iter()
        .find_map(|word| upper.strip_prefix(word))
        .unwrap_or(&upper)
        .replace('\u{2212}', "-");
    if rest.is_empty() {
        return (!upper.is_empty()).then(|| FixedOffset::east_opt(0))?;
    }
    let (sign, digits) = match rest.split_at_checked(1)? {
        ("+", digits) => (1, digits),
        ("-", digits) => (-1, digits),
        _ => return None,
    };
    let number = |text: &str| -> Option<i32> {
        let good = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        text.parse().ok().filter(|_| good)
    };
    let (hours, minutes) = match digits.split_once(':') {
        Some((hours, minutes)) => (number(hours)?, number(minutes)?),
        None if digits.len() == 4 => (number(digits.get(..2)?)?, number(digits.get(2..)?)?),
        None => (number(digits)?, 0),
    };
    if hours > 14 || minutes > 59 {
        return None;
    }
    FixedOffset::east_opt(sign * (hours * 3600 + minutes * 60))
}

impl StampScan {
    /// The moment, day and month in that order; a day without a time is none.
    #[must_use]
    pub fn stamp(&self, order: DayOrder) -> Option<LoggerStamp> {
        let local = self.day(order)?.and_time(self.time?);
        match self.offset {
            None => Some(LoggerStamp::Local(local)),
            Some(offset) => local
                .and_local_timezone(offset)
                .single()
                .map(LoggerStamp::Fixed),
        }
    }

    /// Whether it is a day alone, day and month in that order.
    #[must_use]
    pub fn is_day(&self, order: DayOrder) -> bool {
        self.time.is_none() && self.day(order).is_some()
    }

    /// The day, day and month in that order.
    #[must_use]
    pub fn day(&self, order: DayOrder) -> Option<NaiveDate> {
        match self.date {
            Date::Plain(date) => Some(date),
            Date::TwoFirst {
                first,
                second,
                year,
                ..
            } => {
                let (day, month) = match order {
                    DayOrder::DayFirst => (first, second),
                    DayOrder::MonthFirst => (second, first),
                };
                NaiveDate::from_ymd_opt(year, month, day)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<String> {
        let stamp = instant(text).or_else(|| scan(text)?.stamp(DayOrder::DayFirst))?;
        Some(match stamp {
            LoggerStamp::Local(local) => local.to_string(),
            LoggerStamp::Fixed(time) => time.to_rfc3339(),
            LoggerStamp::Instant(time) => time.to_rfc3339(),
        })
    }

    /// ISO 8601 forms and the usual others; all say half past four in the afternoon.
    #[test]
    fn the_same_moment_in_many_hands() {
        for text in [
            "2026-06-14T16:30:00",
            "2026-06-14 16:30",
            "2026/06/14 16:30:00.250",
            "14/06/2026 16:30",
            "14.06.2026 16:30:00",
            "14.6.26 16.30",
            "14-06-2026, 4:30 PM",
            "14 Jun 2026 4:30:00 p.m.",
            "14-Jun-26 16:30",
            "June 14, 2026 16:30",
        ] {
            assert_eq!(read(text).as_deref(), Some("2026-06-14 16:30:00"), "{text}");
        }
    }

    #[test]
    fn zones_and_instants() {
        for (text, said) in [
            ("2026-06-14T16:30:00+02:00", "2026-06-14T16:30:00+02:00"),
            ("2026-06-14T14:30:00Z", "2026-06-14T14:30:00+00:00"),
            ("2026-06-14 16:30 GMT+2", "2026-06-14T16:30:00+02:00"),
            ("2026-06-14 16:30:00 -0330", "2026-06-14T16:30:00-03:30"),
            ("1781447400", "2026-06-14T14:30:00+00:00"),
            ("1781447400000", "2026-06-14T14:30:00+00:00"),
            ("12/31/2026 12:00 am", ""),
            ("31/12/2026 12:00 am", "2026-12-31 00:00:00"),
        ] {
            assert_eq!(read(text).unwrap_or_default(), said, "{text}");
        }
    }

    #[test]
    fn what_is_no_moment() {
        for text in [
            "",
            "21.5",
            "noon",
            "2026-02-30 10:00",
            "2026-06-14",
            "14/06/2026 25:00",
            "14/06/2026 13:00 pm",
            "2026-06-14 16:30 +99:00",
            "9999999999999999",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn the_order_follows_from_the_dates() {
        let order = |dates: &[&str]| {
            let mut seen = DayOrderEvidence::default();
            for date in dates {
                seen.see(&scan(date).unwrap());
            }
            seen.order()
        };
        assert_eq!(
            order(&["3/4/2026", "3/14/2026"]),
            Some(DayOrder::MonthFirst)
        );
        assert_eq!(order(&["3/4/2026", "14/3/2026"]), Some(DayOrder::DayFirst));
        assert_eq!(order(&["3/4/2026", "5/6/2026"]), None);
        assert_eq!(order(&["3.4.2026"]), Some(DayOrder::DayFirst));
        assert_eq!(order(&["4/4/2026"]), Some(DayOrder::DayFirst));
        assert_eq!(order(&["2026-04-03"]), Some(DayOrder::DayFirst));
    }
}
