//! What the readings of a place come to, one by one and day by day. It judges nothing (see [`sense`])
//! and reads no clock.
//!
//! A reading holds until the next one, and no longer than [`LONGEST_GAP_S`]: a longer wait is left out of
//! the time-weighted figures and counted. Formulas and their sources stand in `figures::air`,
//! `figures::mist` and `figures::warmth`.

pub mod clocks;
pub mod lived;
pub mod matters;
pub mod sense;

use crate::fold::Book;
use crate::fold::climate::ClimateReading;
use crate::stats::air::{Mist, depth_mm};
use crate::stats::air::{SEA_LEVEL_KPA, deficit_kpa, dew_point, leaf_deficit_kpa, wet_bulb};
use chrono::{DateTime, FixedOffset, NaiveDate};

/// Longest time in seconds for which one reading stands for what follows it: two hours.
pub const LONGEST_GAP_S: i64 = 7200;
/// Least share of a day with light readings for a daily light integral.
pub const LIGHT_COVER: f64 = 0.75;

/// What one reading comes to; each figure is absent where its readings are, or where they lie outside
/// the formula's range (air −30 to 60 °C).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AirFigures {
    /// Vapour pressure deficit of the air, kPa, 0 up: FAO-56 equation 11.
    pub vpd_kpa: Option<f64>,
    /// From leaf to air, kPa; below 0 where dew settles on the leaf.
    pub leaf_vpd_kpa: Option<f64>,
    /// Dew point, °C.
    pub dew_c: Option<f64>,
    /// Wet bulb at sea level, °C: ASHRAE Fundamentals 2017, ch. 1, equation 33.
    pub wet_bulb_c: Option<f64>,
    /// Share of time with the mist on, 0 to 1.
    pub duty: Option<f64>,
}

impl AirFigures {
    /// Of one reading.
    #[must_use]
    pub fn from_reading(reading: &ClimateReading<'_>) -> Self {
        let humidity = reading.rh_pct.map(|h| h.0).filter(|rh| is_believable(*rh));
        let air = reading.air_c.map(|t| t.0).zip(humidity);
        let mist = reading.mist_on_s.zip(reading.mist_every_s);
        Self {
            vpd_kpa: air.and_then(|(t, h)| deficit_kpa(t, h).ok()),
            leaf_vpd_kpa: air
                .zip(reading.leaf_c)
                .and_then(|((t, h), leaf)| leaf_deficit_kpa(leaf.0, t, h).ok()),
            dew_c: air.and_then(|(t, h)| dew_point(t, h).ok()),
            wet_bulb_c: air.and_then(|(t, h)| wet_bulb(t, h, SEA_LEVEL_KPA).ok()),
            duty: mist.and_then(|(on, every)| Some(Mist::new(on.0, every.0, 24.0).ok()?.duty())),
        }
    }
}

/// Whether a relative humidity in % can be meant: no air where plants live is at 0 %, which is what a dead sensor reads.
#[must_use]
pub fn is_believable(rh_pct: f64) -> bool {
    rh_pct > 0.0
}

/// A mean over time, or over the readings where none has a time after it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TimeMean {
    weighted: f64,
    seconds: f64,
    sum: f64,
    count: u32,
    least: f64,
    most: f64,
}

impl TimeMean {
    fn add(&mut self, value: Option<f64>, seconds: f64) {
        let Some(value) = value else { return };
        self.weighted += value * seconds;
        self.seconds += seconds;
        self.sum += value;
        (self.least, self.most) = match self.count {
            0 => (value, value),
            _ => (self.least.min(value), self.most.max(value)),
        };
        self.count += 1;
    }

    fn merge(&mut self, other: &Self) {
        if other.count == 0 {
            return;
        }
        (self.least, self.most) = match self.count {
            0 => (other.least, other.most),
            _ => (self.least.min(other.least), self.most.max(other.most)),
        };
        self.weighted += other.weighted;
        self.seconds += other.seconds;
        self.sum += other.sum;
        self.count += other.count;
    }

    /// The mean, weighted by time where any time is known.
    #[must_use]
    pub fn value(&self) -> Option<f64> {
        match self.count {
            0 => None,
            _ if self.seconds > 0.0 => Some(self.weighted / self.seconds),
            count => Some(self.sum / f64::from(count)),
        }
    }

    /// Least and most.
    #[must_use]
    pub fn range(&self) -> Option<(f64, f64)> {
        (self.count > 0).then_some((self.least, self.most))
    }

    /// How many readings.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.count
    }

    /// Seconds that the readings stand for.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.seconds
    }
}

/// The air of a place over a day, or over a stay.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AirSpell {
    /// Readings.
    pub readings: u32,
    /// Waits longer than [`LONGEST_GAP_S`], left out of the means over time.
    pub gaps: u32,
    /// Air, °C.
    pub air_c: TimeMean,
    /// Relative humidity, %.
    pub rh_pct: TimeMean,
    /// Medium, °C.
    pub medium_c: TimeMean,
    /// Vapour pressure deficit of the air, kPa.
    pub vpd_kpa: TimeMean,
    /// Vapour pressure deficit from leaf to air, kPa.
    pub leaf_vpd_kpa: TimeMean,
    /// Dew point, °C.
    pub dew_c: TimeMean,
    /// Wet bulb, °C.
    pub wet_bulb_c: TimeMean,
    /// Light, µmol/m²/s.
    pub ppfd: TimeMean,
    /// Share of time with the mist on.
    pub duty: TimeMean,
}

impl AirSpell {
    fn add(&mut self, reading: &ClimateReading<'_>, seconds: f64) {
        let figures = AirFigures::from_reading(reading);
        self.readings += 1;
        self.air_c.add(reading.air_c.map(|v| v.0), seconds);
        let humidity = reading.rh_pct.map(|v| v.0).filter(|rh| is_believable(*rh));
        self.rh_pct.add(humidity, seconds);
        self.medium_c.add(reading.medium_c.map(|v| v.0), seconds);
        self.ppfd.add(reading.ppfd.map(|v| v.0), seconds);
        self.vpd_kpa.add(figures.vpd_kpa, seconds);
        self.leaf_vpd_kpa.add(figures.leaf_vpd_kpa, seconds);
        self.dew_c.add(figures.dew_c, seconds);
        self.wet_bulb_c.add(figures.wet_bulb_c, seconds);
        self.duty.add(figures.duty, seconds);
    }

    /// Adds another spell to it: together they are one.
    pub fn merge(&mut self, other: &Self) {
        self.readings += other.readings;
        self.gaps += other.gaps;
        for (mine, theirs) in [
            (&mut self.air_c, &other.air_c),
            (&mut self.rh_pct, &other.rh_pct),
            (&mut self.medium_c, &other.medium_c),
            (&mut self.vpd_kpa, &other.vpd_kpa),
            (&mut self.leaf_vpd_kpa, &other.leaf_vpd_kpa),
            (&mut self.dew_c, &other.dew_c),
            (&mut self.wet_bulb_c, &other.wet_bulb_c),
            (&mut self.ppfd, &other.ppfd),
            (&mut self.duty, &other.duty),
        ] {
            mine.merge(theirs);
        }
    }

    /// Daily light integral in mol/m²/day, for a spell of one day with light readings through at least
    /// [`LIGHT_COVER`] of it: mean PPFD × 0.0864 (86 400 s a day, 1e6 µmol a mol).
    #[must_use]
    pub fn light_mol(&self) -> Option<f64> {
        let covered = self.ppfd.seconds() >= LIGHT_COVER * 86_400.0;
        self.ppfd
            .value()
            .filter(|_| covered)
            .map(|mean| mean * 0.0864)
    }

    /// Water laid down in mm a day if the mist ran all day at the mean duty, from `flow` L/h of all
    /// nozzles over `area` m².
    #[must_use]
    pub fn depth_mm(&self, flow: f64, area: f64) -> Option<f64> {
        depth_mm(self.duty.value()? * flow * 24.0, area).ok()
    }
}

/// One day at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct AirDay {
    /// The day as written.
    pub day: NaiveDate,
    /// Its air.
    pub air: AirSpell,
}

/// The days of a place that have readings, in order, both ends included.
#[must_use]
pub fn days(
    book: &Book,
    place: &str,
    since: Option<NaiveDate>,
    until: Option<NaiveDate>,
) -> Vec<AirDay> {
    let mut readings = book.readings(place);
    if let Some(day) = since {
        readings = readings.since(day);
    }
    if let Some(day) = until {
        // The last reading of a day holds until the first of the next.
        readings = readings.until(day.succ_opt().unwrap_or(day));
    }
    let mut out: Vec<AirDay> = Vec::new();
    let mut readings = readings.peekable();
    while let Some(reading) = readings.next() {
        let day = reading.at.day();
        if until.is_some_and(|until| day > until) {
            break;
        }
        if out.last().is_none_or(|last| last.day != day) {
            let air = AirSpell::default();
            out.push(AirDay { day, air });
        }
        let Some(last) = out.last_mut() else { continue };
        let held = readings.peek().and_then(|next| wait(&reading, next));
        match held {
            Some(seconds) if seconds <= LONGEST_GAP_S => last.air.add(&reading, seconds as f64),
            Some(_) => {
                last.air.add(&reading, 0.0);
                last.air.gaps += 1;
            }
            None => last.air.add(&reading, 0.0),
        }
    }
    out
}

/// Seconds from one reading to the next, if both have a time.
fn wait(reading: &ClimateReading<'_>, next: &ClimateReading<'_>) -> Option<i64> {
    let time = |at: &crate::model::at::At| -> Option<DateTime<FixedOffset>> {
        match at {
            crate::model::at::At::Time(time) => Some(*time),
            crate::model::at::At::Day(_) => None,
        }
    };
    let seconds = (time(&next.at)? - time(&reading.at)?).num_seconds();
    Some(seconds.max(0))
}
