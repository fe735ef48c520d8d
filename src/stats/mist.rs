//! Water laid down by an intermittent mist. It must not say how much a cutting wants.

use super::limits::{OutOfRange, within};

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
