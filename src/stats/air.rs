//! Water in air: saturation, deficit, dew point, wet bulb; and water laid down by a mist. It must not judge what is good for plants.
//!
//! Saturation vapour pressure is FAO-56 equation 11 throughout (Allen, Pereira, Raes & Smith 1998,
//! *Crop evapotranspiration*, FAO Irrigation and Drainage Paper 56). It differs from the ASHRAE
//! formula by up to 0.11 % between 0.5 and 45 °C; below 0 °C it is over supercooled water, not ice.

use super::limits::{OutOfRange, within};
use std::f64::consts::{PI, TAU};

/// Air temperatures for which the formulas are offered, °C.
pub const AIR_RANGE_C: (f64, f64) = (-30.0, 60.0);

/// Ratio of the molar masses of water and dry air (ASHRAE Handbook Fundamentals 2017, ch. 1).
const WATER_TO_AIR: f64 = 0.621_945;

/// Air at sea level, kPa.
pub const SEA_LEVEL_KPA: f64 = 101.325;

fn air(temperature: f64) -> Result<f64, OutOfRange> {
    within(
        "temperature (°C)",
        temperature,
        AIR_RANGE_C.0,
        AIR_RANGE_C.1,
    )
}

fn humidity(percent: f64) -> Result<f64, OutOfRange> {
    within("relative humidity (%)", percent, 0.0, 100.0)
}

fn pressure(kpa: f64) -> Result<f64, OutOfRange> {
    within("air pressure (kPa)", kpa, 50.0, 110.0)
}

/// Equation 11 without a check of range; the solvers below stay inside it.
fn saturation_unchecked(temperature: f64) -> f64 {
    0.6108 * (17.27 * temperature / (temperature + 237.3)).exp()
}

/// Saturation vapour pressure e°(T) in kPa at `temperature` °C: FAO-56 equation 11.
///
/// # Errors
/// A temperature outside [`AIR_RANGE_C`].
pub fn saturation_kpa(temperature: f64) -> Result<f64, OutOfRange> {
    air(temperature).map(saturation_unchecked)
}

/// Actual vapour pressure in kPa of air at `temperature` °C and `percent` relative humidity
/// (FAO-56 equation 10 rearranged).
///
/// # Errors
/// A temperature outside [`AIR_RANGE_C`], a humidity outside 0 to 100 %.
pub fn vapour_pressure_kpa(temperature: f64, percent: f64) -> Result<f64, OutOfRange> {
    Ok(saturation_kpa(temperature)? * humidity(percent)? / 100.0)
}

/// Vapour pressure deficit of the air in kPa, e°(T) × (1 − RH), never negative.
///
/// # Errors
/// As [`vapour_pressure_kpa`].
pub fn deficit_kpa(temperature: f64, percent: f64) -> Result<f64, OutOfRange> {
    Ok(saturation_kpa(temperature)? * (1.0 - humidity(percent)? / 100.0))
}

/// Vapour pressure deficit from leaf to air in kPa, e°(leaf) − RH × e°(air).
/// Negative when the leaf is colder than the dew point: water settles on it.
///
/// # Errors
/// Either temperature outside [`AIR_RANGE_C`], a humidity outside 0 to 100 %.
pub fn leaf_deficit_kpa(leaf: f64, temperature: f64, percent: f64) -> Result<f64, OutOfRange> {
    Ok(saturation_kpa(leaf)? - vapour_pressure_kpa(temperature, percent)?)
}

/// Dew point in °C of air holding `vapour` kPa: the inverse of FAO-56 equation 11.
///
/// # Errors
/// A vapour pressure outside 0.001 to 20 kPa (perfectly dry air has no dew point).
pub fn dew_point_of_vapour(vapour: f64) -> Result<f64, OutOfRange> {
    let log = (within("vapour pressure (kPa)", vapour, 0.001, 20.0)? / 0.6108).ln();
    Ok(237.3 * log / (17.27 - log))
}

/// Dew point in °C of air at `temperature` °C and `percent` relative humidity. A lid or leaf colder
/// than this drips.
///
/// # Errors
/// As [`vapour_pressure_kpa`], and air too dry to have a dew point.
pub fn dew_point(temperature: f64, percent: f64) -> Result<f64, OutOfRange> {
    dew_point_of_vapour(vapour_pressure_kpa(temperature, percent)?)
}

/// Humidity ratio (kg of water a kg of dry air) from vapour pressure and air pressure, both in kPa:
/// ASHRAE Handbook Fundamentals 2017, ch. 1, equation 20.
fn ratio(vapour: f64, air_pressure: f64) -> f64 {
    WATER_TO_AIR * vapour / (air_pressure - vapour)
}

/// Humidity ratio in kg/kg of air at `temperature` °C, `percent` relative humidity and
/// `air_pressure` kPa (ASHRAE ch. 1 equation 20, saturation by FAO-56 equation 11).
///
/// # Errors
/// As [`vapour_pressure_kpa`], and a pressure outside 50 to 110 kPa.
pub fn humidity_ratio(
    temperature: f64,
    percent: f64,
    air_pressure: f64,
) -> Result<f64, OutOfRange> {
    let vapour = vapour_pressure_kpa(temperature, percent)?;
    Ok(ratio(vapour, pressure(air_pressure)?))
}

/// Thermodynamic wet-bulb temperature in °C of air at `temperature` °C, `percent` relative humidity
/// and `air_pressure` kPa: ASHRAE Handbook Fundamentals 2017, ch. 1, equation 33 (water, not ice),
/// solved by bisection to 1e-9 °C, with saturation by FAO-56 equation 11. Within 0.02 °C of ASHRAE's
/// own saturation formula between 5 and 35 °C.
///
/// # Errors
/// As [`humidity_ratio`].
pub fn wet_bulb(temperature: f64, percent: f64, air_pressure: f64) -> Result<f64, OutOfRange> {
    let held = humidity_ratio(temperature, percent, air_pressure)?;
    let (mut low, mut high) = (AIR_RANGE_C.0 - 15.0, temperature);
    while high - low > 1e-9 {
        let middle = 0.5 * (low + high);
        let saturated = ratio(saturation_unchecked(middle), air_pressure);
        let implied = ((2501.0 - 2.326 * middle) * saturated - 1.006 * (temperature - middle))
            / (2501.0 + 1.86 * temperature - 4.186 * middle);
        if implied > held {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(0.5 * (low + high))
}

/// A mist that runs `on` seconds in every `every` seconds for `hours` of the day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mist {
    on: f64,
    every: f64,
    hours: f64,
}

impl Mist {
    /// `on` seconds of mist begun every `every` seconds, through `hours` a day.
    ///
    /// # Errors
    /// `every` outside 1 s to a day, `on` negative or longer than `every`, `hours` outside 0 to 24.
    pub fn new(on: f64, every: f64, hours: f64) -> Result<Self, OutOfRange> {
        let every = within("mist interval (s)", every, 1.0, 86_400.0)?;
        Ok(Self {
            on: within("mist burst (s)", on, 0.0, every)?,
            every,
            hours: within("misting hours a day", hours, 0.0, 24.0)?,
        })
    }

    /// The share of the misting hours with the nozzles open, 0 to 1.
    #[must_use]
    pub fn duty(&self) -> f64 {
        self.on / self.every
    }
}

/// Depth in mm of `litres` spread evenly over `area` m²: one litre a square metre is one millimetre.
///
/// # Errors
/// A negative amount, an area outside 1 cm² to a hectare.
pub fn depth_mm(litres: f64, area: f64) -> Result<f64, OutOfRange> {
    let litres = within("water (L)", litres, 0.0, 1e9)?;
    Ok(litres / within("area (m²)", area, 1e-4, 1e4)?)
}

// Readings at uneven times turned into means and sums over a window. It must not bridge long gaps.
//
// Between two readings no further apart than the limit the value runs straight; a longer gap, and
// the time before the first and after the last reading, is left out and counted.

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

/// The time integral of the part of the value above `base` (and, if given, no further than `cutoff`):
/// for degree-hours of the medium. Exact on the straight stretches. Divide by 24 for degree-days.
#[must_use]
pub fn above(readings: &[Reading], window: Window, base: f64, cutoff: Option<f64>) -> Spanned {
    walk(readings, window, |s| {
        area_above(s, base) - cutoff.map_or(0.0, |top| area_above(s, top.max(base)))
    })
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

    /// The area above the base of one sine wave through the extremes (Baskerville & Emin 1969,
    /// *Ecology* 50:514), less the area above the cut-off.
    #[must_use]
    pub fn single_sine(&self) -> f64 {
        self.cut(|base| sine_above(self.low, self.high, base))
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
