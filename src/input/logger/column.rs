//! What a column of a logger's table may hold, its units, and how the number in one of its cells is read.

use crate::stats::units::{LUX_PER_FOOT_CANDLE, SUN_FOOT_CANDLES_PER_UMOL, fahrenheit_to_celsius};

/// Rows in which a heading is looked for: some loggers write a title and a serial number first.
pub(super) const HEADING_WITHIN: usize = 50;
/// What may stand between columns.
pub(super) const BETWEEN: [u8; 3] = [b'\t', b';', b','];

/// Kelvin at 0 °C (exact by definition, NIST SP 811).
const KELVIN: f64 = 273.15;

/// Defines the roles with the word that names each on the command line and in answers.
macro_rules! roles {
    ($($(#[$doc:meta])* $role:ident = $word:literal, $units:expr;)*) => {
        /// What a column holds.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum ColumnRole { $($(#[$doc])* $role,)* }

        impl ColumnRole {
            /// All roles.
            pub const ALL: &'static [Self] = &[$(Self::$role,)*];

            /// Its word.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$role => $word,)* }
            }

            /// Its units, the one that is taken where none is said first.
            #[must_use]
            pub fn units(self) -> &'static [ReadingUnit] {
                match self { $(Self::$role => $units,)* }
            }
        }
    };
}

const WARMTH: &[ReadingUnit] = &[ReadingUnit::C, ReadingUnit::F, ReadingUnit::K];

roles! {
    /// Day and time in one.
    Time = "time", &[ReadingUnit::None];
    /// The day alone.
    Date = "date", &[ReadingUnit::None];
    /// The time of day alone.
    Clock = "clock", &[ReadingUnit::None];
    /// Temperature of the air.
    Air = "air", WARMTH;
    /// Relative humidity.
    Humidity = "rh", &[ReadingUnit::Percent, ReadingUnit::Share];
    /// Temperature of the leaves.
    Leaf = "leaf", WARMTH;
    /// Temperature of the medium.
    Medium = "medium", WARMTH;
    /// Photosynthetic light.
    Light = "light", &[ReadingUnit::Umol, ReadingUnit::FootCandle, ReadingUnit::Lux];
    /// Length of a burst of mist.
    MistOn = "mist-on", &[ReadingUnit::Seconds, ReadingUnit::Minutes];
    /// From one burst to the next.
    MistEvery = "mist-every", &[ReadingUnit::Seconds, ReadingUnit::Minutes];
    /// How far the vents stand open, in words.
    Vent = "vent", &[ReadingUnit::None];
}

impl ColumnRole {
    /// The role of that word, if any.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|role| role.word() == word)
    }

    /// Whether it is a part of the time.
    #[must_use]
    pub fn is_when(self) -> bool {
        matches!(self, Self::Time | Self::Date | Self::Clock)
    }

    /// What it is, in words.
    #[must_use]
    pub fn words(self) -> &'static str {
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
pub enum ReadingUnit {
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
const SPELLINGS: [(ReadingUnit, &[&str]); 10] = [
    (
        ReadingUnit::C,
        &["°C", "°c", "ºc", "c", "degc", "celsius", "deg c"],
    ),
    (
        ReadingUnit::F,
        &["°F", "°f", "ºf", "f", "degf", "fahrenheit", "deg f"],
    ),
    (ReadingUnit::K, &["K", "k", "kelvin"]),
    (ReadingUnit::Percent, &["%", "%", "pct", "percent"]),
    (ReadingUnit::Share, &["share of 1", "share", "fraction"]),
    (
        ReadingUnit::Umol,
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
        ReadingUnit::FootCandle,
        &[
            "foot-candles, by the rule for sunlight",
            "fc",
            "foot-candles",
        ],
    ),
    (
        ReadingUnit::Lux,
        &["lux, by the rule for sunlight", "lux", "lx"],
    ),
    (ReadingUnit::Seconds, &["s", "s", "sec", "seconds"]),
    (ReadingUnit::Minutes, &["min", "min", "minutes"]),
];

impl ReadingUnit {
    /// The unit spelt so, in any case.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
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
pub struct LoggerColumn {
    /// Its heading, cleaned of nothing.
    pub heading: String,
    /// What it holds, if it is read.
    pub role: Option<ColumnRole>,
    /// In which unit.
    pub unit: ReadingUnit,
    /// Whether heading or user say the unit, rather than it being taken as usual.
    pub unit_is_said: bool,
}

/// What loggers write where there is no value.
const BLANK: [&str; 12] = [
    "", "-", "--", "---", "nan", "n/a", "na", "null", "none", "#n/a", "ol", "err",
];

/// Whether a cell holds no value.
#[must_use]
pub fn is_blank(cell: &str) -> bool {
    cell.is_empty() || (cell.len() <= 4 && BLANK.contains(&&*cell.to_ascii_lowercase()))
}

/// The number in a trimmed cell, if it is one; `comma` says that the decimal sign is a comma. Its unit may
/// stand behind it, if it is the column's own.
#[must_use]
pub fn number(cell: &str, comma: bool, unit: ReadingUnit) -> Option<f64> {
    let digits = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '\u{2212}');
    let end = cell.find(|c| !digits(c)).unwrap_or(cell.len());
    let (digits, mut rest) = cell.split_at(end);
    let mut text = digits;
    // An exponent, as some scripts print small numbers.
    if rest.starts_with(['e', 'E']) && rest[1..].starts_with(['+', '-', '0', '1']) {
        let tail = rest[1..]
            .find(|c: char| !c.is_ascii_digit() && !matches!(c, '+' | '-'))
            .map_or(cell.len(), |at| end + 1 + at);
        (text, rest) = cell.split_at(tail);
    }
    let rest = rest.trim();
    if !(rest.is_empty() || rest == "°" || ReadingUnit::named(rest) == Some(unit)) {
        return None;
    }
    let plain = !text.contains([',', '\u{2212}']);
    let value: f64 = if plain {
        text.parse().ok()?
    } else {
        let text = text.replace('\u{2212}', "-");
        match (comma, text.matches(',').count(), text.contains('.')) {
            (true, 0 | 1, false) => text.replace(',', ".").parse().ok()?,
            (_, 0, _) => text.parse().ok()?,
            _ => return None,
        }
    };
    value.is_finite().then_some(value)
}

/// Whether a cell can only be a number with a decimal comma.
#[must_use]
pub fn has_decimal_comma(cell: &str) -> bool {
    let mut parts = cell.trim().splitn(2, ',');
    let (Some(whole), Some(rest)) = (parts.next(), parts.next()) else {
        return false;
    };
    let whole = whole.trim_start_matches(['-', '+', '\u{2212}']);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits(whole) && digits(rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_loggers_write_them() {
        for (cell, comma, unit, value) in [
            ("21.5", false, ReadingUnit::C, Some(21.5)),
            ("-3.25", false, ReadingUnit::C, Some(-3.25)),
            ("\u{2212}3,25", true, ReadingUnit::C, Some(-3.25)),
            ("21,5", true, ReadingUnit::C, Some(21.5)),
            ("21,5", false, ReadingUnit::C, None),
            ("1,234.5", true, ReadingUnit::Umol, None),
            ("82 %", false, ReadingUnit::Percent, Some(82.0)),
            ("72 F", false, ReadingUnit::F, Some(72.0)),
            ("72 F", false, ReadingUnit::C, None),
            ("1.2e-3", false, ReadingUnit::C, Some(0.0012)),
            ("1e999", false, ReadingUnit::C, None),
            ("inf", false, ReadingUnit::C, None),
            ("12:30", false, ReadingUnit::C, None),
            ("", false, ReadingUnit::C, None),
        ] {
            assert_eq!(number(cell, comma, unit), value, "{cell}");
        }
    }
}
