//! Temperatures in the scale that the grower reads. The journal's own are °C throughout; nothing is stored here.

use crate::fold::Book;
use crate::model::listed::Units;
use crate::stats::units::{celsius_step_to_fahrenheit, celsius_to_fahrenheit};

/// The scale.
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
