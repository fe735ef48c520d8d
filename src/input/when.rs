//! Reads typed days and times, such as `yesterday 16:30`. It knows no clock: the present moment is
//! an argument. How days are shown is told in `dates.rs`.

use super::fuzzy::nearest;
use crate::model::at::At;
use crate::text::dates::{MONTHS, WEEKDAYS};
use chrono::{DateTime, Datelike, Days, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime};

/// Which way a day without a year, or a weekday, is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DayLean {
    /// What was done: `3 Jun` is the last one up to today, `monday` the last before today.
    Back,
    /// What is to come: the first from today on, and the first Monday after today.
    Ahead,
}

/// Examples that end every refusal.
const EXAMPLES: &str = "Type for example: today, yesterday 16:30, 3 Jun, 2026-06-14, monday, -3.";

/// Why a typed day or time was not taken; the text names the remedy.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotADay {
    /// Nothing was typed.
    #[error("No day was typed. {EXAMPLES}")]
    Empty,
    /// Day and month both in figures; the second field says how to type what may be meant.
    #[error("'{0}' has its month in figures, which can be read two ways. Type it as a word: {1}.")]
    Figures(String, String),
    /// A day that no calendar has, such as 31 June.
    #[error("There is no day '{0}'. {EXAMPLES}")]
    NoSuchDay(String),
    /// A time that no clock shows, such as 25:00.
    #[error("There is no time '{0}'. Hours run from 0:00 to 23:59.")]
    NoSuchTime(String),
    /// A word that was not understood, and the one it may be a slip for.
    #[error("'{0}' is not understood as a day or time.{hint} {EXAMPLES}", hint = meant(*.1))]
    Unknown(String, Option<&'static str>),
}

fn meant(word: Option<&'static str>) -> String {
    word.map_or(String::new(), |word| format!(" Is it '{word}'?"))
}

/// Words that carry no meaning here.
const FILLERS: [&str; 4] = ["at", "on", "the", "of"];

/// Reads a typed day, time or both.
///
/// `now` is the present moment with the offset of the place; `offset_at` gives the offset in force
/// at a local time, so that a time in another part of the year gets its own. A day alone stays a
/// bare day; a time alone is today's. RFC 3339 is kept with the offset it brings.
///
/// # Errors
/// [`NotADay`], for anything that is not understood, and for days such as 03/06 that can be read
/// two ways.
pub fn read(
    text: &str,
    now: DateTime<FixedOffset>,
    lean: DayLean,
    offset_at: impl Fn(NaiveDateTime) -> FixedOffset,
) -> Result<At, NotADay> {
    let text = text.trim();
    if let Some(at) = At::parse(text) {
        return Ok(at);
    }
    let lower = spoken(separate_iso(&text.to_lowercase().replace(',', " ")));
    let words = lower.split_whitespace().filter(|w| !FILLERS.contains(w));
    let mut words: Vec<&str> = words.collect();
    match words.as_slice() {
        [] => return Err(NotADay::Empty),
        ["now"] => return Ok(At::Time(now)),
        _ => {}
    }
    let time = take_time(&mut words)?;
    let today = now.naive_local().date();
    let day = if words.is_empty() {
        today
    } else {
        read_day(&words, today, lean)?
    };
    let Some(time) = time else {
        return Ok(At::Day(day));
    };
    let local = day.and_time(time);
    let whole = local.and_local_timezone(offset_at(local)).single();
    let whole = whole.ok_or_else(|| NotADay::NoSuchTime(text.to_owned()))?;
    Ok(At::Time(whole))
}

/// Parts of a day as people say them, and the day that they lie in.
const SPOKEN: [(&str, &str); 9] = [
    ("this morning", "today"),
    ("this afternoon", "today"),
    ("this evening", "today"),
    ("earlier today", "today"),
    ("just now", "now"),
    ("last night", "yesterday"),
    ("yesterday morning", "yesterday"),
    ("yesterday afternoon", "yesterday"),
    ("yesterday evening", "yesterday"),
];

/// A text whose spoken part of a day is the day that it lies in.
fn spoken(text: String) -> String {
    let found = SPOKEN.iter().find(|(said, _)| text.starts_with(said));
    found.map_or(text.clone(), |(said, day)| text.replacen(said, day, 1))
}

/// Parts `2026-06-14t16:30` at its t.
fn separate_iso(text: &str) -> String {
    match text.split_once('t') {
        Some((day, time)) if crate::model::at::day(day).is_some() => format!("{day} {time}"),
        _ => text.to_owned(),
    }
}

/// Takes a time of day off the end, with `am` or `pm` as a word of its own or not.
fn take_time(words: &mut Vec<&str>) -> Result<Option<NaiveTime>, NotADay> {
    let half = match words.last() {
        Some(&("am" | "pm")) => words.pop(),
        _ => None,
    };
    let Some(last) = words.last() else {
        let half = half.unwrap_or_default().to_owned();
        return Err(NotADay::Unknown(half, None));
    };
    let typed = format!("{last}{}", half.unwrap_or_default());
    let (figures, half) = match typed.strip_suffix("am") {
        Some(figures) => (figures, Some(0)),
        None => match typed.strip_suffix("pm") {
            Some(figures) => (figures, Some(12)),
            None => (typed.as_str(), None),
        },
    };
    if !figures.starts_with(|c: char| c.is_ascii_digit()) {
        return Ok(None);
    }
    if half.is_none() && !figures.contains(':') {
        return Ok(None);
    }
    let time = clock_time(figures, half).ok_or_else(|| NotADay::NoSuchTime(typed.clone()))?;
    words.pop();
    Ok(Some(time))
}

/// `half`: hours to add for `am` (0) or `pm` (12), on a clock of twelve hours.
fn clock_time(figures: &str, half: Option<u32>) -> Option<NaiveTime> {
    let (hour, minute) = figures.split_once(':').unwrap_or((figures, "00"));
    let (minute, second) = minute.split_once(':').unwrap_or((minute, "00"));
    if hour.len() > 2 || minute.len() != 2 || second.len() != 2 {
        return None;
    }
    let number = |text: &str| text.parse::<u32>().ok();
    let hour = match (number(hour)?, half) {
        (hour, None) => hour,
        (hour @ 1..=12, Some(half)) => hour % 12 + half,
        _ => return None,
    };
    NaiveTime::from_hms_opt(hour, number(minute)?, number(second)?)
}

fn read_day(words: &[&str], today: NaiveDate, lean: DayLean) -> Result<NaiveDate, NotADay> {
    let typed = || words.join(" ");
    let no_such = || NotADay::NoSuchDay(typed());
    match words {
        ["today"] => return Ok(today),
        ["yesterday"] => return shift(today, -1).ok_or_else(no_such),
        ["tomorrow"] => return shift(today, 1).ok_or_else(no_such),
        ["last", name] if weekday(name).is_some() => {
            return read_day(&[name], today, DayLean::Back);
        }
        ["next", name] if weekday(name).is_some() => {
            return read_day(&[name], today, DayLean::Ahead);
        }
        [count, unit, "ago"] => {
            if let (Ok(count), Some(days)) = (count.parse::<i64>(), unit_days(unit)) {
                let back = count.checked_mul(-days);
                return back.and_then(|n| shift(today, n)).ok_or_else(no_such);
            }
        }
        [name, date @ ..] if weekday(name).is_some() && !date.is_empty() => {
            let day = read_day(date, today, lean)?;
            let agrees = weekday(name) == Some(day.weekday().num_days_from_monday().into());
            return agrees.then_some(day).ok_or_else(no_such);
        }
        [one] => {
            if let Some(day) = one_word(one, today, lean)? {
                return Ok(day);
            }
        }
        _ => {}
    }
    named_month(words, today, lean)
}

fn unit_days(unit: &str) -> Option<i64> {
    match unit {
        "day" | "days" => Some(1),
        "week" | "weeks" => Some(7),
        _ => None,
    }
}

/// The day `by` days from another, within the four-digit years that a journal can write.
fn shift(day: NaiveDate, by: i64) -> Option<NaiveDate> {
    let length = Days::new(by.unsigned_abs());
    let moved = if by < 0 {
        day.checked_sub_days(length)
    } else {
        day.checked_add_days(length)
    };
    moved.filter(|day| (1..=9999).contains(&day.year()))
}

/// `2026-06-14`, `-3`, `+14`, `monday`; None for other words, figures with marks are refused.
fn one_word(word: &str, today: NaiveDate, lean: DayLean) -> Result<Option<NaiveDate>, NotADay> {
    if let Some(day) = crate::model::at::day(word) {
        return Ok(Some(day));
    }
    let signed = word.starts_with(['-', '+']);
    if signed && let Ok(by) = word.parse::<i64>() {
        let day = shift(today, by);
        return day
            .map(Some)
            .ok_or_else(|| NotADay::NoSuchDay(word.to_owned()));
    }
    if let Some(wanted) = weekday(word) {
        let on = i64::from(today.weekday().num_days_from_monday());
        let gap = (wanted - on).rem_euclid(7);
        let by = match (lean, gap) {
            (DayLean::Ahead, 0) => 7,
            (DayLean::Ahead, gap) => gap,
            (DayLean::Back, gap) => gap - 7,
        };
        return Ok(shift(today, by));
    }
    if word.contains(['/', '.', '-']) && word.chars().all(|c| "0123456789/.-".contains(c)) {
        return Err(figures(word));
    }
    Ok(None)
}

/// Days after Monday, for a weekday's name or its first letters (three at least).
fn weekday(word: &str) -> Option<i64> {
    let place = place_of(word, &WEEKDAYS)?;
    i64::try_from(place).ok()
}

fn place_of(word: &str, names: &[&str]) -> Option<usize> {
    let word = word.strip_suffix('.').unwrap_or(word);
    let begins = |name: &&str| {
        let head = name.get(..word.len());
        head.is_some_and(|head| head.eq_ignore_ascii_case(word))
    };
    let long = word.len() >= 3;
    names.iter().position(|name| long && begins(name))
}

/// The refusal of `03/06`, with the ways to say what may be meant.
fn figures(word: &str) -> NotADay {
    let parts = word.split(['/', '.', '-']).filter(|part| !part.is_empty());
    let parts: Vec<u32> = parts.filter_map(|part| part.parse().ok()).collect();
    // A year in front is no puzzle: such a word is a misspelt or impossible ISO date.
    if word
        .split(['/', '.', '-'])
        .next()
        .is_some_and(|first| first.len() > 2)
    {
        return NotADay::NoSuchDay(word.to_owned());
    }
    let [first, second, ..] = parts.as_slice() else {
        return NotADay::Unknown(word.to_owned(), None);
    };
    let say = |day: u32, month: u32| {
        let name = MONTHS.get(usize::try_from(month).ok()?.checked_sub(1)?)?;
        NaiveDate::from_ymd_opt(2000, month, day)?;
        Some(format!("'{day} {}'", &name[..3]))
    };
    let mut ways: Vec<String> = [say(*first, *second), say(*second, *first)]
        .into_iter()
        .flatten()
        .collect();
    ways.dedup();
    if ways.is_empty() {
        return NotADay::NoSuchDay(word.to_owned());
    }
    NotADay::Figures(word.to_owned(), ways.join(" or "))
}

/// `3 jun`, `june 3rd`, `3jun 2025`.
fn named_month(words: &[&str], today: NaiveDate, lean: DayLean) -> Result<NaiveDate, NotADay> {
    let (mut month, mut day, mut year) = (None, None, None);
    for word in words.iter().flat_map(|word| split_figures(word)) {
        if let Some(place) = place_of(word, &MONTHS).filter(|_| month.is_none()) {
            month = u32::try_from(place + 1).ok();
        } else if let Some(number) = ordinal(word).filter(|_| day.is_none()) {
            day = Some(number);
        } else if let Some(number) = full_year(word).filter(|_| year.is_none()) {
            year = Some(number);
        } else {
            return Err(unknown(word));
        }
    }
    let (Some(month), Some(day)) = (month, day) else {
        return Err(unknown(&words.join(" ")));
    };
    let found = match year {
        Some(year) => NaiveDate::from_ymd_opt(year, month, day),
        None => nearest_year(month, day, today, lean),
    };
    found.ok_or_else(|| NotADay::NoSuchDay(words.join(" ")))
}

/// A year of four figures, without a sign, that a journal can write.
fn full_year(word: &str) -> Option<i32> {
    let plain = word.len() == 4 && word.bytes().all(|b| b.is_ascii_digit());
    word.parse().ok().filter(|year| plain && *year > 0)
}

/// The last (or next) year that has this day: a leap day may lie up to eight years off.
fn nearest_year(month: u32, day: u32, today: NaiveDate, lean: DayLean) -> Option<NaiveDate> {
    (0..=8).find_map(|step| match lean {
        DayLean::Back => {
            NaiveDate::from_ymd_opt(today.year() - step, month, day).filter(|d| *d <= today)
        }
        DayLean::Ahead => {
            NaiveDate::from_ymd_opt(today.year() + step, month, day).filter(|d| *d >= today)
        }
    })
}

/// `3jun` in two, `3rd` and plain words whole.
fn split_figures(word: &str) -> Vec<&str> {
    let figures = word.bytes().take_while(u8::is_ascii_digit).count();
    let (number, name) = word.split_at(figures);
    if number.is_empty() || place_of(name, &MONTHS).is_none() {
        vec![word]
    } else {
        vec![number, name]
    }
}

/// A day's number, `3` or `3rd`, of one or two figures.
fn ordinal(word: &str) -> Option<u32> {
    let endings = ["st", "nd", "rd", "th"];
    let bare = endings.iter().find_map(|end| word.strip_suffix(end));
    let bare = bare.unwrap_or(word);
    let plain = matches!(bare.len(), 1 | 2) && bare.bytes().all(|b| b.is_ascii_digit());
    bare.parse().ok().filter(|_| plain)
}

fn unknown(word: &str) -> NotADay {
    let others = ["today", "yesterday", "tomorrow"];
    let known: Vec<&'static str> = others.into_iter().chain(WEEKDAYS).chain(MONTHS).collect();
    NotADay::Unknown(word.to_owned(), nearest(word, &known))
}
