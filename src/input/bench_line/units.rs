//! Numbers with their units, turned into the journal's own: °C, mm, s, m², l/h, kPa, ppm. It knows no field.

use crate::model::listed::Units;
use crate::stats::units::MM_PER_INCH;

/// A kind of measure, each with its table of units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Quantity {
    Temperature,
    Length,
    Duration,
    Area,
    Flow,
    Pressure,
    Light,
    Percent,
    Strength,
}

/// A unit: its spellings, what one of it is in the journal's unit, and what zero of it is.
type Unit = (&'static [&'static str], f64, f64);

impl Quantity {
    /// Its units, the journal's own first.
    fn units(self) -> &'static [Unit] {
        match self {
            Self::Temperature => &[
                (&["c", "°c", "ºc", "deg c", "celsius"], 1.0, 0.0),
                (
                    &["f", "°f", "ºf", "deg f", "fahrenheit"],
                    5.0 / 9.0,
                    -160.0 / 9.0,
                ),
            ],
            Self::Length => &[
                (&["mm", "millimetres", "millimeters"], 1.0, 0.0),
                (&["cm", "centimetres", "centimeters"], 10.0, 0.0),
                (&["in", "inch", "inches", "\"", "″"], MM_PER_INCH, 0.0),
            ],
            Self::Duration => &[
                (&["s", "sec", "secs", "second", "seconds"], 1.0, 0.0),
                (&["min", "mins", "minute", "minutes"], 60.0, 0.0),
                (&["h", "hr", "hrs", "hour", "hours"], 3600.0, 0.0),
            ],
            Self::Area => &[
                (
                    &["m2", "m²", "sq m", "square metres", "square meters"],
                    1.0,
                    0.0,
                ),
                (&["ft2", "ft²", "sq ft", "square feet"], 0.092_903_04, 0.0),
            ],
            Self::Flow => &[
                (
                    &["l/h", "lph", "litres an hour", "liters an hour"],
                    1.0,
                    0.0,
                ),
                (&["l/min"], 60.0, 0.0),
                // The US gallon.
                (&["gal/h", "gph", "gallons an hour"], 3.785_411_784, 0.0),
            ],
            Self::Pressure => &[
                (&["kpa"], 1.0, 0.0),
                (&["hpa", "mbar"], 0.1, 0.0),
                (&["pa"], 0.001, 0.0),
            ],
            Self::Light => &[(
                &[
                    "µmol",
                    "μmol",
                    "umol",
                    "µmol/m²/s",
                    "μmol/m²/s",
                    "umol/m2/s",
                ],
                1.0,
                0.0,
            )],
            Self::Percent => &[(&["%", "percent", "per cent"], 1.0, 0.0)],
            // One part in a hundred is ten thousand in a million; weak solutions weigh a kilogram a litre.
            Self::Strength => &[
                (&["ppm", "mg/l"], 1.0, 0.0),
                (&["%", "percent", "per cent"], 10_000.0, 0.0),
            ],
        }
    }

    /// The unit to write after a number, so that it is read back whatever the nursery's units.
    pub fn shown(self) -> &'static str {
        match self {
            Self::Temperature => " °C",
            Self::Length => " mm",
            Self::Duration => " s",
            Self::Area => " m²",
            Self::Flow => " l/h",
            Self::Pressure => " kPa",
            Self::Light => " µmol",
            Self::Percent => " %",
            Self::Strength => " ppm",
        }
    }

    /// What is wanted, for a phrase that lacks it.
    pub fn wanted(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature as `21`, `21 C` or `70F`",
            Self::Length => "a length as `80 mm`, `8 cm` or `4in`",
            Self::Duration => "a time as `10s` or `12min`",
            Self::Area => "an area as `6 m2` or `60 sq ft`",
            Self::Flow => "a flow as `25 l/h`",
            Self::Pressure => "a pressure as `0.8` kPa",
            Self::Light => "light as `120` µmol/m²/s",
            Self::Percent => "a share as `82` %",
            Self::Strength => "a strength as `3000`, `3000 ppm` or `0.3%`",
        }
    }

    /// Reads a whole text as a number with or without its unit, in the journal's unit.
    pub fn read(self, text: &str, units: Units) -> Option<f64> {
        let (number, unit) = number(text)?;
        let (_, scale, zero) = match (unit.is_empty(), self, units) {
            (true, Self::Temperature | Self::Length, Units::F) => self.units().iter().last()?,
            (true, ..) => self.units().first()?,
            (false, ..) => {
                let typed = unit.to_lowercase();
                self.units()
                    .iter()
                    .find(|(spelt, ..)| spelt.contains(&typed.as_str()))?
            }
        };
        let value = number.mul_add(*scale, *zero);
        // A converted value is no finer than a hundredth; one in the journal's unit stays as typed.
        let own = *scale == 1.0 && *zero == 0.0;
        Some(if own {
            number
        } else {
            (value * 100.0).round() / 100.0
        })
    }

    /// Whether the text names a unit of this measure.
    pub fn has_unit(self, text: &str) -> bool {
        number(text).is_some_and(|(_, unit)| !unit.is_empty())
            && self.read(text, Units::C).is_some()
    }
}

/// The number at the head of a text and what follows it. The decimal sign may be a point or a comma. A comma
/// before exactly three digits (`3,000`) may part thousands or decimals: that is no number here.
pub(super) fn number(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let (minus, bare) = match text.strip_prefix(['-', '−']) {
        Some(bare) => (true, bare),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let whole = bare.bytes().take_while(u8::is_ascii_digit).count();
    let after = &bare[whole..];
    let decimals = match after.strip_prefix(['.', ',']) {
        Some(rest) => rest.bytes().take_while(u8::is_ascii_digit).count(),
        None => 0,
    };
    let end = if decimals > 0 {
        whole + 1 + decimals
    } else {
        whole
    };
    let thousands = after.starts_with(',') && decimals == 3 && !bare.starts_with('0');
    if whole > 15 || whole + decimals == 0 || thousands {
        return None;
    }
    let rest = bare[end..].trim();
    if rest.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',') {
        return None;
    }
    let value: f64 = bare[..end].replace(',', ".").parse().ok()?;
    Some((if minus { -value } else { value }, rest))
}

/// Small numbers in words, each at its own place.
const COUNTED: [&str; 13] = [
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
];

/// A whole number of nothing but digits, at most a million, or a small one in words.
pub(super) fn count(text: &str) -> Option<u32> {
    if let Some(spelt) = COUNTED
        .iter()
        .position(|word| text.eq_ignore_ascii_case(word))
    {
        return u32::try_from(spelt).ok();
    }
    let fit = super::split::digits(text) && text.len() <= 9;
    fit.then(|| text.parse().ok())
        .flatten()
        .filter(|n| *n <= crate::model::value::MOST)
}
