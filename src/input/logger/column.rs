//! What a column of a logger's table may hold, and its units: tables. They convert, and judge nothing.

use crate::stats::units::{LUX_PER_FOOT_CANDLE, SUN_FOOT_CANDLES_PER_UMOL, fahrenheit_to_celsius};

/// Kelvin at 0 °C (exact by definition, NIST SP 811).
const KELVIN: f64 = 273.15;

/// Defines the roles with the word that names each on the command line and in answers.
macro_rules! roles {
    ($($(#[$doc:meta])* $role:ident = $word:literal, $units:expr;)*) => {
        /// What a column holds.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Role { $($(#[$doc])* $role,)* }

        impl Role {
            /// All roles.
            pub const ALL: &'static [Self] = &[$(Self::$role,)*];

            /// Its word.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$role => $word,)* }
            }

            /// Its units, the one that is taken where none is said first.
            #[must_use]
            pub fn units(self) -> &'static [Unit] {
                match self { $(Self::$role => $units,)* }
            }
        }
    };
}

const WARMTH: &[Unit] = &[Unit::C, Unit::F, Unit::K];

roles! {
    /// Day and time in one.
    Time = "time", &[Unit::None];
    /// The day alone.
    Date = "date", &[Unit::None];
    /// The time of day alone.
    Clock = "clock", &[Unit::None];
    /// Temperature of the air.
    Air = "air", WARMTH;
    /// Relative humidity.
    Humidity = "rh", &[Unit::Percent, Unit::Share];
    /// Temperature of the leaves.
    Leaf = "leaf", WARMTH;
    /// Temperature of the medium.
    Medium = "medium", WARMTH;
    /// Photosynthetic light.
    Light = "light", &[Unit::Umol, Unit::FootCandle, Unit::Lux];
    /// Length of a burst of mist.
    MistOn = "mist-on", &[Unit::Seconds, Unit::Minutes];
    /// From one burst to the next.
    MistEvery = "mist-every", &[Unit::Seconds, Unit::Minutes];
    /// How far the vents stand open, in words.
    Vent = "vent", &[Unit::None];
}

impl Role {
    /// The role of that word, if any.
    #[must_use]
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|role| role.word() == word)
    }

    /// Whether it is a part of the time.
    #[must_use]
    pub fn is_when(self) -> bool {
        matches!(self, Self::Time | Self::Date | Self::Clock)
    }

    /// What it is, in words.
    #[must_use]
    pub fn said(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Date => "date",
            Self::Clock => "time of day",
            Self::Air => "air",
            Self::Humidity => "humidity",
            Self::Leaf => "leaf",
            Self::Medium => "medium",
            Self::Light => "light",
            Self::MistOn => "mist on",
            Self::MistEvery => "mist every",
            Self::Vent => "vent",
        }
    }
}

/// The unit of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Words or times.
    None,
    /// °C.
    C,
    /// °F.
    F,
    /// Kelvin.
    K,
    /// Per cent.
    Percent,
    /// A share from 0 to 1.
    Share,
    /// µmol/m²/s.
    Umol,
    /// Foot-candles, by the rule for sunlight.
    FootCandle,
    /// Lux, by the rule for sunlight.
    Lux,
    /// Seconds.
    Seconds,
    /// Minutes.
    Minutes,
}

/// The spellings of each unit, lower case; the first is the one shown.
const SPELLINGS: [(Unit, &[&str]); 10] = [
    (
        Unit::C,
        &["°C", "°c", "ºc", "c", "degc", "celsius", "deg c"],
    ),
    (
        Unit::F,
        &["°F", "°f", "ºf", "f", "degf", "fahrenheit", "deg f"],
    ),
    (Unit::K, &["K", "k", "kelvin"]),
    (Unit::Percent, &["%", "%", "pct", "percent"]),
    (Unit::Share, &["share of 1", "share", "fraction"]),
    (
        Unit::Umol,
        &[
            "µmol/m²/s",
            "µmol",
            "μmol",
            "umol",
            "µmol/m²/s",
            "umol/m2/s",
        ],
    ),
    (
        Unit::FootCandle,
        &[
            "foot-candles, by the rule for sunlight",
            "fc",
            "foot-candles",
        ],
    ),
    (Unit::Lux, &["lux, by the rule for sunlight", "lux", "lx"]),
    (Unit::Seconds, &["s", "s", "sec", "seconds"]),
    (Unit::Minutes, &["min", "min", "minutes"]),
];

impl Unit {
    /// The unit spelt so, in any case.
    #[must_use]
    pub fn of(text: &str) -> Option<Self> {
        let text = text.trim().to_lowercase();
        // The signs that are no ASCII have no case.
        let spelt = |(_, spellings): &&(Self, &[&str])| {
            spellings.iter().any(|s| s.eq_ignore_ascii_case(&text))
        };
        SPELLINGS.iter().find(spelt).map(|(unit, _)| *unit)
    }

    /// As it is shown.
    #[must_use]
    pub fn shown(self) -> &'static str {
        let found = SPELLINGS.iter().find(|(unit, _)| *unit == self);
        found.map_or("", |(_, spellings)| spellings[0])
    }

    /// A value in the journal's own unit. What is converted is rounded to hundredths (light to tenths), finer
    /// than any logger; a value that needs no conversion is left to its last digit.
    #[must_use]
    pub fn to_journal(self, value: f64) -> f64 {
        let hundredths = |v: f64| (v * 100.0).round() / 100.0;
        match self {
            Self::F => hundredths(fahrenheit_to_celsius(value)),
            Self::K => hundredths(value - KELVIN),
            Self::Share => hundredths(value * 100.0),
            Self::FootCandle => (value / SUN_FOOT_CANDLES_PER_UMOL * 10.0).round() / 10.0,
            Self::Lux => Self::FootCandle.to_journal(value / LUX_PER_FOOT_CANDLE),
            Self::Minutes => value * 60.0,
            Self::None | Self::C | Self::Percent | Self::Umol | Self::Seconds => value,
        }
    }
}

/// A column of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its heading, cleaned of nothing.
    pub heading: String,
    /// What it holds, if it is read.
    pub role: Option<Role>,
    /// In which unit.
    pub unit: Unit,
    /// Whether heading or user say the unit, rather than it being taken as usual.
    pub unit_is_said: bool,
}
