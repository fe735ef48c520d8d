//! A distribution function of days read from a table, for where it is asked for millions of times.
//! It must not fit anything.

use super::parametric::Family;

/// Table points from one standard unit to the next.
const FINE: f64 = 64.0;
/// The table reaches from minus to plus so many standard units.
const REACH: f64 = 10.0;

/// The standard form of a family, tabulated; between points by a straight line, which is within 8e-6.
#[derive(Debug, Clone, PartialEq)]
pub struct Lookup {
    /// The family.
    pub family: Family,
    below: Vec<f64>,
}

impl Lookup {
    /// Of that family.
    #[must_use]
    pub fn new(family: Family) -> Self {
        let points = (2.0 * REACH * FINE) as usize;
        let at = |place: usize| family.below(place as f64 / FINE - REACH);
        Self {
            family,
            below: (0..=points).map(at).collect(),
        }
    }

    /// The distribution function at `z`.
    #[must_use]
    pub fn below(&self, z: f64) -> f64 {
        let place = (z + REACH) * FINE;
        if place.is_nan() || place <= 0.0 {
            return 0.0;
        }
        let first = place as usize;
        match self.below.get(first..first + 2) {
            Some(&[low, high]) => low + (high - low) * (place - first as f64),
            _ => 1.0,
        }
    }
}
