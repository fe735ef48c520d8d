//! Degree-days of a day from its lowest and highest temperature. It must not choose a base for anyone.
//!
//! Any one temperature scale serves, as long as all arguments share it; the answer is in degree-days
//! of that scale. An upper threshold is a horizontal cut-off: warmth above it counts as the threshold
//! (Zalom, Goodell, Wilson, Barnett & Bentley 1983, *Degree-days: the calculation and use of heat
//! units in pest management*, University of California leaflet 21373).

use std::f64::consts::{PI, TAU};

use super::limits::{OutOfRange, within};

/// One day's extremes and the thresholds, all on one scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    low: f64,
    high: f64,
    base: f64,
    cutoff: Option<f64>,
}

impl Day {
    /// A day between `low` and `high`, counted above `base` and, if given, no further than `cutoff`.
    ///
    /// # Errors
    /// `high` below `low`, `cutoff` below `base`, or any value outside −100 to 200 degrees.
    pub fn new(low: f64, high: f64, base: f64, cutoff: Option<f64>) -> Result<Self, OutOfRange> {
        let low = within("lowest temperature", low, -100.0, 200.0)?;
        let high = within("highest temperature", high, low, 200.0)?;
        let base = within("base temperature", base, -100.0, 200.0)?;
        if let Some(top) = cutoff {
            within("upper threshold", top, base, 200.0)?;
        }
        Ok(Self {
            low,
            high,
            base,
            cutoff,
        })
    }

    /// The mean of the extremes above the base, at least 0. The cut-off is not used.
    #[must_use]
    pub fn average(&self) -> f64 {
        (0.5 * (self.low + self.high) - self.base).max(0.0)
    }

    /// As [`Day::average`], with both extremes first brought between base and cut-off
    /// (McMaster & Wilhelm 1997, *Agricultural and Forest Meteorology* 87:291, method 2, both sides).
    #[must_use]
    pub fn average_capped(&self) -> f64 {
        let top = self.cutoff.unwrap_or(f64::INFINITY);
        let bring = |value: f64| value.max(self.base).min(top);
        0.5 * (bring(self.low) + bring(self.high)) - self.base
    }

    /// The area above the base of one sine wave through the extremes (Baskerville & Emin 1969,
    /// *Ecology* 50:514), less the area above the cut-off.
    #[must_use]
    pub fn single_sine(&self) -> f64 {
        self.cut(|base| sine_above(self.low, self.high, base))
    }

    /// As [`Day::single_sine`] with a symmetric triangle instead of the sine wave.
    #[must_use]
    pub fn single_triangle(&self) -> f64 {
        self.cut(|base| triangle_above(self.low, self.high, base))
    }

    fn cut(&self, above: impl Fn(f64) -> f64) -> f64 {
        above(self.base) - self.cutoff.map_or(0.0, above)
    }
}

fn sine_above(low: f64, high: f64, base: f64) -> f64 {
    let (mean, half) = (0.5 * (low + high), 0.5 * (high - low));
    if base <= low {
        return mean - base;
    }
    if base >= high {
        return 0.0;
    }
    let angle = ((base - mean) / half).clamp(-1.0, 1.0).asin();
    ((mean - base) * (PI / 2.0 - angle) + half * angle.cos()) * 2.0 / TAU
}

fn triangle_above(low: f64, high: f64, base: f64) -> f64 {
    if base <= low {
        return 0.5 * (low + high) - base;
    }
    if base >= high {
        return 0.0;
    }
    (high - base).powi(2) / (2.0 * (high - low))
}
