//! A mist interval that might be tried. It rests on the light hours of several days, never on one reading, and never
//! lengthens an interval for weather warmer than what it saw. It orders nothing.

use super::AirFigures;
use super::sense::{AirSense, HOT_AIR_C, VpdBand};
use crate::fold::Book;
use chrono::{Days, NaiveDate, Timelike};
use std::collections::BTreeMap;

/// The hours of the day that count as light, from and before. LeBude et al. 2005 (*HortScience* 40:1448) judged the
/// air from 10 to 18 h; mornings are added by common practice.
pub const LIGHT_HOURS: (u32, u32) = (8, 18);
/// In each of these parts of the light hours a day must have a reading: morning, midday, afternoon.
const PARTS: [(u32, u32); 3] = [(8, 11), (11, 14), (14, 18)];
/// Fewer days than this give no hint.
pub const FEWEST_DAYS: usize = 3;
/// Days looked back over.
const LOOKED_BACK: u64 = 7;
/// The interval is changed by this share at most.
const MOST_CHANGE: f64 = 0.25;

/// An interval to try, and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MistHint {
    /// Drying or wet.
    pub sense: AirSense,
    /// The interval as last noted, seconds.
    pub every_s: f64,
    /// The interval that might be tried, seconds.
    pub try_every_s: f64,
    /// Days with readings through their light hours.
    pub days: usize,
    /// The last of them.
    pub last: NaiveDate,
    /// Warmest air of their light hours, °C.
    pub warmest_c: f64,
}

/// One day's light hours.
#[derive(Default)]
struct LightDay {
    parts: [bool; 3],
    vpd: Vec<f64>,
    warmest_c: f64,
}

/// A hint for a place from the week up to a day, if its light hours were plainly drying or wet on every day that was
/// read through.
#[must_use]
pub fn mist_hint(book: &Book, place: &str, band: &VpdBand, until: NaiveDate) -> Option<MistHint> {
    let since = until - Days::new(LOOKED_BACK - 1);
    let mut days: BTreeMap<NaiveDate, LightDay> = BTreeMap::new();
    let (mut every, mut latest_c) = (None, None);
    for reading in book.readings(place).since(since).until(until) {
        if let Some((on, each)) = reading.mist_on_s.zip(reading.mist_every_s) {
            every = (on.0 > 0.0).then_some(each.0);
        }
        latest_c = reading.air_c.map(|t| t.0).or(latest_c);
        let vpd = AirFigures::from_reading(&reading).vpd_kpa;
        let (Some(local), Some(vpd), Some(air)) = (reading.at.local(), vpd, reading.air_c) else {
            continue;
        };
        let hour = local.hour();
        let Some(part) = PARTS
            .iter()
            .position(|(from, to)| (*from..*to).contains(&hour))
        else {
            continue;
        };
        let day = days.entry(local.date()).or_default();
        day.parts[part] = true;
        day.vpd.push(vpd);
        day.warmest_c = match day.vpd.len() {
            1 => air.0,
            _ => day.warmest_c.max(air.0),
        };
    }
    days.retain(|_, day| day.parts == [true; 3]);
    let (last, _) = days.last_key_value()?;
    let warmest_c = days
        .values()
        .map(|day| day.warmest_c)
        .fold(f64::NEG_INFINITY, f64::max);
    let hint = |sense, try_every_s| MistHint {
        sense,
        every_s: every.unwrap_or_default(),
        try_every_s,
        days: days.len(),
        last: *last,
        warmest_c,
    };
    let every = every.filter(|_| days.len() >= FEWEST_DAYS)?;
    let means: Vec<f64> = days
        .values()
        .map(|day| day.vpd.iter().sum::<f64>() / day.vpd.len() as f64)
        .collect();
    let mean = means.iter().sum::<f64>() / means.len() as f64;
    let all = |sense| {
        means
            .iter()
            .all(|vpd| AirSense::at_deficit(*vpd, band) == sense)
    };
    if all(AirSense::Drying) {
        let shorter = every * (band.high_kpa / mean).max(1.0 - MOST_CHANGE);
        let tried = (shorter / step(every)).ceil() * step(every);
        return (tried < every).then(|| hint(AirSense::Drying, tried));
    }
    // One drying hour, heat, or weather warmer now than on those days, and nothing is lengthened.
    let dry = days
        .values()
        .flat_map(|day| &day.vpd)
        .any(|vpd| *vpd > band.high_kpa);
    let warmer = latest_c.is_some_and(|now| now > warmest_c);
    if !all(AirSense::Wet) || dry || warmer || warmest_c > HOT_AIR_C {
        return None;
    }
    let longer = match mean > 0.0 {
        true => every * (band.low_kpa / mean).min(1.0 + MOST_CHANGE),
        false => every * (1.0 + MOST_CHANGE),
    };
    let tried = (longer / step(every)).floor() * step(every);
    (tried > every).then(|| hint(AirSense::Wet, tried))
}

/// Seconds that timers are set by: half minutes, and finer below four minutes.
fn step(every_s: f64) -> f64 {
    if every_s >= 240.0 { 30.0 } else { 5.0 }
}
