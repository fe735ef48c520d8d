//! The arithmetic of mixing: strengths, molar masses, dilutions, and the refusal of impossible mixes.
//! It must not recommend a strength.
//!
//! Strengths are mass in volume: 1 % = 10 g/L = 10 000 mg/L, and 1 mg/L is written 1 ppm, as the
//! trade does for dilute solutions in water and for talc (mass in mass).

use thiserror::Error;

/// Milligrams a litre in one per cent (mass in volume).
pub const PPM_PER_PERCENT: f64 = 10_000.0;

/// A pure substance that is weighed out or dissolved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Substance {
    /// Short name as the trade writes it.
    pub name: &'static str,
    /// Chemical name.
    pub chemical: &'static str,
    /// Formula.
    pub formula: &'static str,
    /// Molar mass, g/mol.
    pub molar_mass: f64,
}

/// Indole-3-butyric acid: 203.24 g/mol (USDA National Organic Program, technical evaluation report
/// on indole-3-butyric acid, 2011).
pub const IBA: Substance = Substance {
    name: "IBA",
    chemical: "indole-3-butyric acid",
    formula: "C12H13NO2",
    molar_mass: 203.24,
};
/// Indole-3-acetic acid: 175.19 g/mol (the same report).
pub const IAA: Substance = Substance {
    name: "IAA",
    chemical: "indole-3-acetic acid",
    formula: "C10H9NO2",
    molar_mass: 175.19,
};
/// 1-Naphthaleneacetic acid: 186.21 g/mol (sum of the standard atomic weights).
pub const NAA: Substance = Substance {
    name: "NAA",
    chemical: "1-naphthaleneacetic acid",
    formula: "C12H10O2",
    molar_mass: 186.21,
};
/// Potassium salt of indole-3-butyric acid: 241.33 g/mol (the acid less H 1.008 plus K 39.098).
pub const K_IBA: Substance = Substance {
    name: "K-IBA",
    chemical: "potassium salt of indole-3-butyric acid",
    formula: "C12H12KNO2",
    molar_mass: 241.33,
};
/// Potassium salt of 1-naphthaleneacetic acid: 224.30 g/mol (the acid less H 1.008 plus K 39.098).
pub const K_NAA: Substance = Substance {
    name: "K-NAA",
    chemical: "potassium salt of 1-naphthaleneacetic acid",
    formula: "C12H9KO2",
    molar_mass: 224.30,
};
/// Why a mix cannot be made.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ImpossibleMix {
    /// The wanted strength is above the stock's.
    #[error("{wanted} is stronger than the stock's {stock}: water cannot strengthen it")]
    StrongerThanStock {
        /// The strength wanted, in the unit of both.
        wanted: f64,
        /// The stock's strength.
        stock: f64,
    },
    /// A strength, volume or count that is zero where something is needed, negative or not a number.
    #[error("{what} cannot be {value}")]
    BadFigure {
        /// Which figure.
        what: &'static str,
        /// As given.
        value: f64,
    },
    /// More substance than there is mixture.
    #[error("{percent} % is more than the whole")]
    MoreThanWhole {
        /// The strength in per cent.
        percent: f64,
    },
}

fn positive(what: &'static str, value: f64) -> Result<f64, ImpossibleMix> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(ImpossibleMix::BadFigure { what, value })
    }
}

fn strength(what: &'static str, ppm: f64) -> Result<f64, ImpossibleMix> {
    let ppm = positive(what, ppm)?;
    if ppm > 100.0 * PPM_PER_PERCENT {
        let percent = ppm / PPM_PER_PERCENT;
        return Err(ImpossibleMix::MoreThanWhole { percent });
    }
    Ok(ppm)
}

/// Per cent (mass in volume) of a strength in ppm, that is mg/L.
#[must_use]
pub fn ppm_to_percent(ppm: f64) -> f64 {
    ppm / PPM_PER_PERCENT
}

impl Substance {
    /// Millimoles a litre of `mg_per_l` milligrams a litre.
    #[must_use]
    pub fn millimolar(&self, mg_per_l: f64) -> f64 {
        mg_per_l / self.molar_mass
    }

    /// Milligrams a litre of `millimolar` millimoles a litre.
    #[must_use]
    pub fn mg_per_litre(&self, millimolar: f64) -> f64 {
        millimolar * self.molar_mass
    }

    /// Mass of this substance with as many molecules as `mass` of `other`, in the unit of `mass`:
    /// how much potassium salt stands for so much acid.
    #[must_use]
    pub fn equivalent_of(&self, other: &Substance, mass: f64) -> f64 {
        mass * self.molar_mass / other.molar_mass
    }
}

/// How to thin a stock: both volumes in the unit that was asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dilution {
    /// Volume of stock.
    pub stock: f64,
    /// Volume of water (or other carrier) to make up the rest.
    pub diluent: f64,
}

/// Stock and water for `volume` at strength `wanted` from a stock of strength `stock`: C₁V₁ = C₂V₂.
/// Both strengths in one unit; volumes in the unit of `volume`. Volumes are taken to add up.
///
/// # Errors
/// A figure not above 0; a wanted strength above the stock's.
pub fn dilute(stock: f64, wanted: f64, volume: f64) -> Result<Dilution, ImpossibleMix> {
    let stock = positive("the stock's strength", stock)?;
    let wanted = positive("the strength wanted", wanted)?;
    let volume = positive("the volume", volume)?;
    if wanted > stock {
        return Err(ImpossibleMix::StrongerThanStock { wanted, stock });
    }
    let needed = volume * wanted / stock;
    Ok(Dilution {
        stock: needed,
        diluent: volume - needed,
    })
}

/// Strength of `stock_parts` of a stock mixed *with* `water_parts` of water, in the stock's unit.
/// '1:10' is ambiguous in the trade; here it is always parts plus parts.
///
/// # Errors
/// A strength or stock part not above 0, a negative part of water.
pub fn by_parts(stock: f64, stock_parts: f64, water_parts: f64) -> Result<f64, ImpossibleMix> {
    let stock = positive("the stock's strength", stock)?;
    let parts = positive("the parts of stock", stock_parts)?;
    if !(water_parts >= 0.0 && water_parts.is_finite()) {
        let what = "the parts of water";
        return Err(ImpossibleMix::BadFigure {
            what,
            value: water_parts,
        });
    }
    Ok(stock * parts / (parts + water_parts))
}

/// Grams of pure substance for `millilitres` of solution at `ppm` (mg/L).
///
/// # Errors
/// A figure not above 0; more than 100 %.
pub fn grams_for(millilitres: f64, ppm: f64) -> Result<f64, ImpossibleMix> {
    let volume = positive("the volume", millilitres)?;
    Ok(volume * strength("the strength", ppm)? / 1e6)
}

/// Millilitres of solution that `cuttings` use up at `ml_each`, with `spare` (0.1 is a tenth more).
///
/// # Errors
/// No cuttings, a volume a cutting not above 0, a negative spare.
pub fn volume_for(cuttings: u32, ml_each: f64, spare: f64) -> Result<f64, ImpossibleMix> {
    let cuttings = positive("the number of cuttings", f64::from(cuttings))?;
    let each = positive("the volume a cutting", ml_each)?;
    if !(spare >= 0.0 && spare.is_finite()) {
        let what = "the spare share";
        return Err(ImpossibleMix::BadFigure { what, value: spare });
    }
    Ok(cuttings * each * (1.0 + spare))
}
