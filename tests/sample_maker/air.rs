//! The air of the invented nursery, day by day and place by place, and the spells when it was wrong.

use super::dice::Dice;
use chrono::{Datelike, NaiveDate};
use struck::model::listed::{Cause, Cover};

/// A place of the nursery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Its name.
    pub name: &'static str,
    /// What covers the cuttings there.
    pub cover: Cover,
    /// Bottom heat in °C, if it has any.
    pub heat: Option<f64>,
    /// Mist seconds and the time from one to the next, if it has mist.
    pub mist: Option<(f64, f64)>,
    /// Usual relative humidity at midday, %.
    pub humidity: f64,
    /// How much warmer than outside at midday, °C.
    pub warmer: f64,
}

/// The places.
pub const SPOTS: [Spot; 4] = [
    Spot {
        name: "mist bench",
        cover: Cover::Mist,
        heat: Some(21.0),
        mist: Some((10.0, 720.0)),
        humidity: 84.0,
        warmer: 4.0,
    },
    Spot {
        name: "closed frame",
        cover: Cover::Frame,
        heat: None,
        mist: None,
        humidity: 90.0,
        warmer: 3.0,
    },
    Spot {
        name: "lidded box 1",
        cover: Cover::Box,
        heat: None,
        mist: None,
        humidity: 93.0,
        warmer: 1.0,
    },
    Spot {
        name: "lidded box 2",
        cover: Cover::Box,
        heat: None,
        mist: None,
        humidity: 93.0,
        warmer: 1.0,
    },
];

/// How the air was wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Too dry: cuttings wilt.
    Dry,
    /// Too wet and close: cuttings blacken from the base.
    Wet,
}

/// Days on which the air of a place was wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spell {
    /// The place.
    pub place: &'static str,
    /// First day, as year, month, day.
    pub from: (i32, u32, u32),
    /// Number of days.
    pub days: u64,
    /// What was wrong.
    pub fault: Fault,
    /// What the nursery noted of it.
    pub note: &'static str,
}

/// All spells of wrong air.
pub const SPELLS: [Spell; 6] = [
    Spell {
        place: "lidded box 2",
        from: (2023, 7, 10),
        days: 8,
        fault: Fault::Wet,
        note: "lid dripping, nobody aired it",
    },
    Spell {
        place: "mist bench",
        from: (2024, 6, 24),
        days: 6,
        fault: Fault::Dry,
        note: "mist filter blocked",
    },
    Spell {
        place: "closed frame",
        from: (2024, 8, 20),
        days: 9,
        fault: Fault::Wet,
        note: "frame shut through the rain",
    },
    Spell {
        place: "mist bench",
        from: (2025, 7, 1),
        days: 4,
        fault: Fault::Dry,
        note: "pump off since the storm",
    },
    Spell {
        place: "closed frame",
        from: (2025, 8, 4),
        days: 10,
        fault: Fault::Wet,
        note: "vents stuck",
    },
    Spell {
        place: "closed frame",
        from: (2026, 6, 15),
        days: 5,
        fault: Fault::Dry,
        note: "shade net blown off",
    },
];

impl Spell {
    /// First and last day.
    #[must_use]
    pub fn span(&self) -> Option<(NaiveDate, NaiveDate)> {
        let (year, month, day) = self.from;
        let first = NaiveDate::from_ymd_opt(year, month, day)?;
        Some((
            first,
            first + chrono::Days::new(self.days.saturating_sub(1)),
        ))
    }
}

/// The spell at a place on a day, if the air was wrong.
#[must_use]
pub fn spell(place: &str, day: NaiveDate) -> Option<&'static Spell> {
    SPELLS.iter().find(|spell| {
        spell.place == place
            && spell
                .span()
                .is_some_and(|(first, last)| (first..=last).contains(&day))
    })
}

/// The chance that wrong air kills an unrooted cutting on one day, and of what.
#[must_use]
pub fn toll(place: &str, day: NaiveDate) -> Option<(f64, Cause)> {
    spell(place, day).map(|spell| match spell.fault {
        Fault::Dry => (0.045, Cause::Wilted),
        Fault::Wet => (0.040, Cause::Blackened),
    })
}

/// What the thermometer and the hygrometer read at midday.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Air, °C.
    pub air: f64,
    /// Relative humidity, %.
    pub humidity: f64,
    /// Medium, °C.
    pub medium: f64,
    /// Light, µmol m⁻² s⁻¹.
    pub light: f64,
}

/// Draws the midday reading of a place.
pub fn reading(spot: &Spot, day: NaiveDate, dice: &mut Dice) -> Reading {
    // Warmest in late July, about day 205: a cosine through the year.
    let warmth = (f64::from(day.ordinal()) - 205.0) / 365.0 * std::f64::consts::TAU;
    let outside = 11.5 + 7.5 * warmth.cos() + dice.normal(0.0, 1.8);
    let (drier, hotter) = match spell(spot.name, day).map(|s| s.fault) {
        Some(Fault::Dry) => (34.0, 5.0),
        Some(Fault::Wet) => (-12.0, -3.0),
        None => (0.0, 0.0),
    };
    let air = outside + spot.warmer + hotter;
    let medium = spot.heat.map_or(air - 1.5, |heat| heat.max(air - 3.0)) + dice.normal(0.0, 0.4);
    let humidity = (spot.humidity - drier + dice.normal(0.0, 2.5)).clamp(30.0, 100.0);
    let light = (160.0 + 90.0 * warmth.cos() + dice.normal(0.0, 30.0)).max(10.0);
    let round = |value: f64| (value * 10.0).round() / 10.0;
    Reading {
        air: round(air),
        humidity: humidity.round(),
        medium: round(medium),
        light: light.round(),
    }
}
