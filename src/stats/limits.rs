//! The stated range of an argument, and the error when it is left. It must not clamp in silence.

use thiserror::Error;

/// A value outside the range for which a formula holds, or not a number.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{what} of {value} is outside {low} to {high}")]
pub struct OutOfRange {
    /// What the value measures, with its unit.
    pub what: &'static str,
    /// The value as given.
    pub value: f64,
    /// The lowest value allowed.
    pub low: f64,
    /// The highest value allowed.
    pub high: f64,
}

/// Passes `value` on if it lies in `low..=high`; not-a-number never does.
///
/// # Errors
/// [`OutOfRange`] otherwise.
pub fn within(what: &'static str, value: f64, low: f64, high: f64) -> Result<f64, OutOfRange> {
    if value >= low && value <= high {
        Ok(value)
    } else {
        Err(OutOfRange {
            what,
            value,
            low,
            high,
        })
    }
}
