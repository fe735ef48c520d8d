//! Conversions between the units growers use. It must not round.
//!
//! Factors are exact definitions from NIST Special Publication 811 (2008), appendix B, unless said.

/// Litres in a US liquid gallon.
pub const LITRES_PER_US_GALLON: f64 = 3.785_411_784;
/// Millilitres in a US fluid ounce.
pub const ML_PER_US_FLUID_OUNCE: f64 = 29.573_529_562_5;
/// Litres in an imperial gallon.
pub const LITRES_PER_IMPERIAL_GALLON: f64 = 4.546_09;
/// Millimetres in an inch.
pub const MM_PER_INCH: f64 = 25.4;
/// Square metres in a square foot.
pub const M2_PER_SQUARE_FOOT: f64 = 0.092_903_04;
/// Lux in a foot-candle: one lumen over a square foot.
pub const LUX_PER_FOOT_CANDLE: f64 = 1.0 / M2_PER_SQUARE_FOOT;
/// Foot-candles in 1 µmol/m²/s of sunlight in a greenhouse: an approximation that holds for sunlight
/// only (Lopez & Runkle, *Greenhouse Product News*, figure 1).
pub const SUN_FOOT_CANDLES_PER_UMOL: f64 = 5.0;

/// A temperature in °F as °C.
#[must_use]
pub fn fahrenheit_to_celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// A temperature in °C as °F.
#[must_use]
pub fn celsius_to_fahrenheit(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}

/// A *difference* of temperatures in Celsius degrees as Fahrenheit degrees.
#[must_use]
pub fn celsius_step_to_fahrenheit(difference: f64) -> f64 {
    difference * 1.8
}
