//! Readings at uneven times turned into means and sums over a window. It must not bridge long gaps.
//!
//! Between two readings no further apart than the limit the value runs straight; a longer gap, and
//! the time before the first and after the last reading, is left out and counted.

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
