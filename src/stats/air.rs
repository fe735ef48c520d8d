//! Water in air: saturation, deficit, dew point, wet bulb; and water laid down by a mist. It must not judge what is good for plants.
//!
//! Saturation vapour pressure is FAO-56 equation 11 throughout (Allen, Pereira, Raes & Smith 1998,
//! *Crop evapotranspiration*, FAO Irrigation and Drainage Paper 56). It differs from the ASHRAE
//! formula by up to 0.11 % between 0.5 and 45 °C; below 0 °C it is over supercooled water, not ice.

use super::limits::{OutOfRange, within};

/// Air temperatures for which the formulas are offered, °C.
pub const AIR_RANGE_C: (f64, f64) = (-30.0, 60.0);

/// Ratio of the molar masses of water and dry air (ASHRAE Handbook Fundamentals 2017, ch. 1).
const WATER_TO_AIR: f64 = 0.621_945;

/// The psychrometer coefficient of a ventilated wet bulb, 1/°C (FAO-56 equation 16).
pub const VENTILATED_PSYCHROMETER: f64 = 0.000_662;

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

/// Slope of the saturation curve in kPa/°C at `temperature` °C: FAO-56 equation 13.
///
/// # Errors
/// A temperature outside [`AIR_RANGE_C`].
pub fn saturation_slope(temperature: f64) -> Result<f64, OutOfRange> {
    let saturation = saturation_kpa(temperature)?;
    Ok(4098.0 * saturation / (temperature + 237.3).powi(2))
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

/// Standard air pressure in kPa at `altitude` metres: ASHRAE Handbook Fundamentals 2017, ch. 1,
/// equation 3.
///
/// # Errors
/// An altitude outside −500 to 5000 m.
pub fn standard_pressure_kpa(altitude: f64) -> Result<f64, OutOfRange> {
    let metres = within("altitude (m)", altitude, -500.0, 5000.0)?;
    Ok(SEA_LEVEL_KPA * (1.0 - 2.25577e-5 * metres).powf(5.2559))
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

/// Actual vapour pressure in kPa from a ventilated wet-bulb reading, both temperatures in °C and
/// the pressure in kPa: FAO-56 equations 15 and 16. Zero when the readings would imply less.
///
/// # Errors
/// A temperature outside [`AIR_RANGE_C`], a wet bulb above the dry one, a pressure outside 50 to 110.
pub fn vapour_from_wet_bulb(dry: f64, wet: f64, air_pressure: f64) -> Result<f64, OutOfRange> {
    let wet = within("wet bulb (°C)", wet, AIR_RANGE_C.0, air(dry)?)?;
    let cooling = VENTILATED_PSYCHROMETER * pressure(air_pressure)? * (dry - wet);
    Ok((saturation_unchecked(wet) - cooling).max(0.0))
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

    /// Bursts a day.
    #[must_use]
    pub fn bursts(&self) -> f64 {
        self.hours * 3600.0 / self.every
    }

    /// Litres a day from nozzles that give `flow` litres an hour in all while open.
    ///
    /// # Errors
    /// A flow outside 0 to 100 000 L/h.
    pub fn litres(&self, flow: f64) -> Result<f64, OutOfRange> {
        let flow = within("nozzle flow (L/h)", flow, 0.0, 100_000.0)?;
        Ok(flow * self.bursts() * self.on / 3600.0)
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

/// Area in m² of a circle `diameter` m across, for the throw of a nozzle.
///
/// # Errors
/// A diameter outside 1 cm to 100 m.
pub fn circle_m2(diameter: f64) -> Result<f64, OutOfRange> {
    let radius = 0.5 * within("diameter (m)", diameter, 0.01, 100.0)?;
    Ok(std::f64::consts::PI * radius * radius)
}
