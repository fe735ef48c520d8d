//! How shares, days and temperatures are worded. Temperatures are in the scale that the grower reads; the journal's own
//! are °C throughout.

use crate::fold::Book;
use crate::model::listed::Units;
use crate::stats::units::{celsius_step_to_fahrenheit, celsius_to_fahrenheit};

/// A share as a whole percentage; a half goes to the even number, as everywhere.
#[must_use]
pub fn percent(share: f64) -> String {
    // A share that was iterated for is off its half by less than a count can be.
    let hundredth = (share * 1e10).round() / 1e8;
    // A sum of nothing is minus zero, and a small loss rounds to it.
    format!("{:.0}", hundredth.round_ties_even() + 0.0)
}

/// A chance in per cent. None is printed as certain: `under 1 %`, `91 %`, `over 99 %`.
#[must_use]
pub fn chance(chance: f64) -> String {
    match chance {
        below if below < 0.01 => "under 1 %".to_owned(),
        above if above > 0.99 => "over 99 %".to_owned(),
        between => format!("{} %", percent(between)),
    }
}

/// A count with its noun: `1 batch`, `3 batches`.
#[must_use]
pub fn many(count: u64, one: &str, several: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { several })
}

/// A number as a whole one, a half to the even; in tenths where the whole one would be 0 and the number
/// is not: `12`, `0.4`, `-0.4`, `0`.
#[must_use]
pub fn near(value: f64) -> String {
    let tenths = format!("{value:.1}");
    match format!("{value:.0}").as_str() {
        "0" | "-0" if tenths.ends_with(".0") => "0".into(),
        "0" | "-0" => tenths,
        whole => whole.to_owned(),
    }
}

/// A share with its interval, all in per cent: `64 (51-75)`.
#[must_use]
pub fn percent_range(share: f64, low: f64, high: f64) -> String {
    format!("{} ({}-{})", percent(share), percent(low), percent(high))
}

/// A day since sticking, rounded.
#[must_use]
pub fn days(at: f64) -> String {
    format!("{at:.0}")
}

/// The temperature scale that the grower reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Degrees(pub Units);

impl Degrees {
    /// The scale of the nursery that keeps this book; °C if it names none.
    #[must_use]
    pub fn of_book(book: &Book) -> Self {
        Self(book.nursery().units.unwrap_or(Units::C))
    }

    /// A temperature in °C as a number of the scale.
    #[must_use]
    pub fn number(self, celsius: f64) -> f64 {
        match self.0 {
            Units::C => celsius,
            Units::F => celsius_to_fahrenheit(celsius),
        }
    }

    /// A difference of temperatures, or degree-days, in °C as a number of the scale.
    #[must_use]
    pub fn step(self, celsius: f64) -> f64 {
        match self.0 {
            Units::C => celsius,
            Units::F => celsius_step_to_fahrenheit(celsius),
        }
    }

    /// Its sign.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self.0 {
            Units::C => "°C",
            Units::F => "°F",
        }
    }

    /// Its letter, for the heading of a column.
    #[must_use]
    pub fn letter(self) -> &'static str {
        match self.0 {
            Units::C => "C",
            Units::F => "F",
        }
    }

    /// A temperature to a tenth, with its sign.
    #[must_use]
    pub fn in_words(self, celsius: f64) -> String {
        format!("{:.1} {}", self.number(celsius), self.sign())
    }
}

#[cfg(test)]
mod tests {
    use super::{chance, percent};

    #[test]
    fn no_chance_is_certain() {
        let worded = [0.0, 0.004, 0.01, 0.5, 0.99, 0.996, 1.0].map(chance);
        let wanted = [
            "under 1 %",
            "under 1 %",
            "1 %",
            "50 %",
            "99 %",
            "over 99 %",
            "over 99 %",
        ];
        assert_eq!(worded, wanted);
    }

    #[test]
    fn a_half_goes_to_the_even_number_also_where_it_was_iterated_for() {
        for share in [0.325, 0.325 + 1e-12, 0.325 - 1e-12] {
            assert_eq!(percent(share), "32");
        }
        assert_eq!(percent(0.335 + 1e-12), "34");
        assert_eq!(percent(0.3251), "33");
        assert_eq!(percent(-1e-9), "0");
    }
}
