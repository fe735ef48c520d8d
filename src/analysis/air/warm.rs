//! Degree-days of the medium, day by day, from as much as is known of each day. It chooses no base for anyone.

use super::{LIGHT_COVER, LONGEST_GAP_S};
use crate::fold::Book;
use crate::model::at::At;
use crate::stats::air as spans;
use crate::stats::air::{Reading, Window};
use chrono::{NaiveDate, Timelike};

/// How a day's degree-days were had.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// The area above the base between readings through at least three quarters of the day.
    Readings,
    /// A sine wave through the least and the most of a few readings (Baskerville & Emin 1969).
    Extremes,
    /// One reading less the base.
    One,
}

/// One day of the medium.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayWarmth {
    /// The day.
    pub day: NaiveDate,
    /// Degree-days above the base, °C × days, 0 up.
    pub degree_days: f64,
    /// How they were had.
    pub how: How,
}

/// A day's readings of the medium: hours since 1970 on the local clock, and °C.
struct Read {
    day: NaiveDate,
    least: f64,
    most: f64,
    count: u32,
}

/// Degree-days above `base` °C of each day with a reading of the medium at a place, in order of days.
#[must_use]
pub fn warm(book: &Book, place: &str, base: f64) -> Vec<DayWarmth> {
    let (mut days, mut points): (Vec<Read>, Vec<Reading>) = (Vec::new(), Vec::new());
    for reading in book.readings(place) {
        let Some(medium) = reading.medium_c else {
            continue;
        };
        let day = reading.at.day();
        if days.last().is_none_or(|last| last.day != day) {
            days.push(Read {
                day,
                least: medium.0,
                most: medium.0,
                count: 0,
            });
        }
        if let Some(last) = days.last_mut() {
            last.least = last.least.min(medium.0);
            last.most = last.most.max(medium.0);
            last.count += 1;
        }
        if let At::Time(time) = reading.at {
            let local = time.naive_local();
            let seconds = f64::from(local.time().num_seconds_from_midnight());
            let at = midnight(local.date()) + seconds / 3600.0;
            // An hour that a clock set back brings twice is taken once.
            if points.last().is_none_or(|last| last.at < at) {
                points.push(Reading {
                    at,
                    value: medium.0,
                });
            }
        }
    }
    days.iter()
        .map(|read| of_day(read, &points, base))
        .collect()
}

/// Hours from 1970 to the start of a day.
fn midnight(day: NaiveDate) -> f64 {
    (day - NaiveDate::default()).num_days() as f64 * 24.0
}

fn of_day(read: &Read, points: &[Reading], base: f64) -> DayWarmth {
    let from = midnight(read.day);
    let window = Window {
        from,
        to: from + 24.0,
        longest_gap: LONGEST_GAP_S as f64 / 3600.0,
    };
    let spanned = spans::above(points, window, base, None);
    let sine = || spans::DayRange::new(read.least, read.most, base, None);
    let (degree_days, how) = if spanned.hours >= LIGHT_COVER * 24.0 {
        (spanned.mean().unwrap_or(0.0), How::Readings)
    } else if let Some(day) = (read.count > 1).then(sine).and_then(Result::ok) {
        (day.single_sine(), How::Extremes)
    } else {
        ((read.most - base).max(0.0), How::One)
    };
    DayWarmth {
        day: read.day,
        degree_days,
        how,
    }
}
