//! Readings at uneven times turned into means and sums over a window. It must not bridge long gaps.
//!
//! Between two readings no further apart than the limit the value runs straight; a longer gap, and
//! the time before the first and after the last reading, is left out and counted.

use super::limits::{OutOfRange, within};
use std::f64::consts::{PI, TAU};

/// One reading: `at` in hours from any fixed moment, and its value in any unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Hours from a fixed moment, the same for all readings of a series.
    pub at: f64,
    /// The value read.
    pub value: f64,
}

/// The window looked at and the longest gap bridged, in hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Start, hours.
    pub from: f64,
    /// End, hours; not before the start.
    pub to: f64,
    /// Readings further apart than this many hours are not joined.
    pub longest_gap: f64,
}

/// What a window of readings amounts to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spanned {
    /// The integral over the hours covered, in value × hours.
    pub sum: f64,
    /// Hours over which the value is known.
    pub hours: f64,
    /// Hours of the window left out.
    pub hours_left_out: f64,
    /// Stretches left out, the ends of the window included.
    pub gaps: usize,
    /// Readings inside the window.
    pub readings: usize,
}

impl Spanned {
    /// The time-weighted mean, or none if no stretch was covered.
    #[must_use]
    pub fn mean(&self) -> Option<f64> {
        (self.hours > 0.0).then(|| self.sum / self.hours)
    }
}

/// The straight stretch from one reading to the next, clipped to a window.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stretch {
    hours: f64,
    start: f64,
    end: f64,
}

/// The time-weighted sum of the readings over a window. `readings` are in order of time; those with
/// a value that is not finite must have been left out before.
#[must_use]
pub fn over(readings: &[Reading], window: Window) -> Spanned {
    walk(readings, window, |s| 0.5 * (s.start + s.end) * s.hours)
}

/// As [`over`], of the part of the value above `base` (and, if given, no further than `cutoff`):
/// for degree-hours of the medium. Exact on the straight stretches. Divide by 24 for degree-days.
#[must_use]
pub fn above(readings: &[Reading], window: Window, base: f64, cutoff: Option<f64>) -> Spanned {
    walk(readings, window, |s| {
        area_above(s, base) - cutoff.map_or(0.0, |top| area_above(s, top.max(base)))
    })
}

/// Daily light integral in mol/m² from readings of photosynthetic photon flux density in µmol/m²/s:
/// the trapezoid sum over the window × 3600 / 1e6.
#[must_use]
pub fn light_integral(readings: &[Reading], window: Window) -> Spanned {
    let mut spanned = over(readings, window);
    spanned.sum *= 3600.0 / 1e6;
    spanned
}

/// Daily light integral in mol/m² of a steady `ppfd` µmol/m²/s kept up for `hours`.
#[must_use]
pub fn steady_light(ppfd: f64, hours: f64) -> f64 {
    ppfd * hours * 3600.0 / 1e6
}

fn area_above(stretch: Stretch, base: f64) -> f64 {
    let (first, last) = (stretch.start - base, stretch.end - base);
    if first >= 0.0 && last >= 0.0 {
        0.5 * (first + last) * stretch.hours
    } else if first <= 0.0 && last <= 0.0 {
        0.0
    } else {
        let top = first.max(last);
        0.5 * top * stretch.hours * top / (first - last).abs()
    }
}

fn walk(readings: &[Reading], window: Window, area: impl Fn(Stretch) -> f64) -> Spanned {
    let first = readings.partition_point(|r| r.at < window.from);
    let past = readings.partition_point(|r| r.at <= window.to);
    let near = &readings[first.saturating_sub(1)..(past + 1).min(readings.len())];
    let mut spanned = Spanned {
        sum: 0.0,
        hours: 0.0,
        hours_left_out: 0.0,
        gaps: 0,
        readings: past.saturating_sub(first),
    };
    // `reached` is how far the window has been accounted for.
    let mut reached = window.from;
    for pair in near.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let whole = b.at - a.at;
        if whole <= 0.0 || whole > window.longest_gap {
            continue;
        }
        let (from, to) = (a.at.max(window.from), b.at.min(window.to));
        if to <= from {
            continue;
        }
        let value_at = |at: f64| a.value + (b.value - a.value) * (at - a.at) / whole;
        leave_out(&mut spanned, reached, from);
        spanned.sum += area(Stretch {
            hours: to - from,
            start: value_at(from),
            end: value_at(to),
        });
        spanned.hours += to - from;
        reached = to;
    }
    leave_out(&mut spanned, reached, window.to);
    spanned
}

fn leave_out(spanned: &mut Spanned, from: f64, to: f64) {
    if to > from {
        spanned.hours_left_out += to - from;
        spanned.gaps += 1;
    }
}

/// One day's lowest and highest temperature and the thresholds of its degree-days, all on one scale: the answer
/// is in degree-days of that scale. The upper threshold is a horizontal cut-off, that is, warmth above it counts
/// as the threshold (Zalom, Goodell, Wilson, Barnett & Bentley 1983, *Degree-days: the calculation and use of
/// heat units in pest management*, University of California leaflet 21373).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayRange {
    low: f64,
    high: f64,
    base: f64,
    cutoff: Option<f64>,
}

impl DayRange {
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

    /// As [`DayRange::average`], with both extremes first brought between base and cut-off
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

    /// As [`DayRange::single_sine`] with a symmetric triangle instead of the sine wave.
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
