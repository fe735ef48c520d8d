//! Reads strengths, volumes and substances as typed, and words the arithmetic of a mix. It gives no doses:
//! how strong a mix should be is the label's and the grower's to say.

use crate::stats::mixing::{
    IAA, IBA, ImpossibleMix, K_IBA, K_NAA, NAA, PPM_PER_PERCENT, Substance, by_parts, dilute,
    grams_for, ppm_to_percent, volume_for,
};
use crate::stats::units::{
    LITRES_PER_IMPERIAL_GALLON, LITRES_PER_US_GALLON, ML_PER_US_FLUID_OUNCE,
};

/// Most IBA that water holds, mg/L at room temperature (USDA National Organic Program, technical
/// evaluation report on indole-3-butyric acid, 2011).
pub const IBA_IN_WATER_PPM: f64 = 250.0;
/// Most NAA that water holds, mg/L at 20 °C: 420 in compilations of pesticide data (CAS 86-87-3); another handbook
/// gives 380 at 17 °C.
pub const NAA_IN_WATER_PPM: f64 = 420.0;
/// Most IAA that water holds, mg/L at 20 °C: 1500 in compilations of chemical data (CAS 87-51-4; from memory).
pub const IAA_IN_WATER_PPM: f64 = 1500.0;
/// A strength in ppm from which a mix is asked about: no rooting or cleaning mix is known to be so strong.
const ASKED_PPM: f64 = 30.0 * PPM_PER_PERCENT;
/// A volume in mL from which a mix is asked about: a cubic metre.
const ASKED_ML: f64 = 1e6;
/// What to do, in order, whatever is mixed: common practice.
pub const ORDER: &str = "Order: gloves and goggles on; pour the thinning liquid first, then the product into it, never the other way round and never two products; stir, label, date. The product's label comes first.";

/// Why a mix is not worked out; the text names the remedy.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MixProblem {
    /// A strength that was not understood.
    #[error("'{0}' is no strength. Say it as 0.3%, 3000ppm, 3000mg/l, 3g/l or 14.8mM.")]
    Strength(String),
    /// A volume that was not understood.
    #[error("'{0}' is no volume. Say it as 250ml, 1.5l, 8floz (US), 1usgal or 1impgal.")]
    Volume(String),
    /// A gallon of which country?
    #[error("A gallon is 3.79 litres in the US and 4.55 in Britain: say usgal or impgal.")]
    Gallon,
    /// A substance that is not known here.
    #[error("'{0}' is not known here. Say IBA, K-IBA, NAA, K-NAA or IAA.")]
    Substance(String),
    /// Parts that were not understood.
    #[error("'{0}' are no parts. Say 1:9 for one part of product with nine parts of water.")]
    Parts(String),
    /// Millimoles of what?
    #[error("Millimoles need a substance: say --of IBA, K-IBA, NAA, K-NAA or IAA.")]
    MolesOfWhat,
    /// It does not dissolve.
    #[error(
        "{name} does not dissolve in water beyond about {most} mg/L. Dissolve it in alcohol first, or take the potassium salt; the label says how."
    )]
    Insoluble {
        /// What does not.
        name: &'static str,
        /// How much does.
        most: f64,
    },
    /// A slip is likelier than that this is meant.
    #[error("Is this right? {0}. Say --sure if it is.")]
    Unlikely(String),
    /// A mix that cannot be.
    #[error("It cannot be mixed: {}.", impossible(.0))]
    Impossible(ImpossibleMix),
}

impl From<ImpossibleMix> for MixProblem {
    fn from(why: ImpossibleMix) -> Self {
        Self::Impossible(why)
    }
}

/// The substance of that name, however it is spaced and cased.
///
/// # Errors
/// If it is none of those known.
pub fn substance(text: &str) -> Result<Substance, MixProblem> {
    let plain: String = text.chars().filter(|c| c.is_alphanumeric()).collect();
    match plain.to_lowercase().as_str() {
        "iba" => Ok(IBA),
        "kiba" | "ibak" | "ibasalt" | "potassiumiba" => Ok(K_IBA),
        "naa" => Ok(NAA),
        "knaa" | "naak" | "naasalt" | "potassiumnaa" => Ok(K_NAA),
        "iaa" => Ok(IAA),
        _ => Err(MixProblem::Substance(text.to_owned())),
    }
}

/// Why a mix cannot be, with the units of its figures: strengths are in ppm here.
fn impossible(why: &ImpossibleMix) -> String {
    match why {
        ImpossibleMix::StrongerThanStock { wanted, stock } => format!(
            "{} ppm ({} %) is stronger than the stock's {} ppm ({} %), and water cannot strengthen it",
            figure(*wanted),
            figure(ppm_to_percent(*wanted)),
            figure(*stock),
            figure(ppm_to_percent(*stock))
        ),
        other => other.to_string(),
    }
}

/// Splits `3000 ppm` into its number and its unit in lower case.
fn number_and_unit(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .unwrap_or(text.len());
    let digits = &text[..end];
    // A comma may part thousands or decimals, so that a number with one is refused.
    let number: f64 = digits.parse().ok()?;
    Some((number, text[end..].trim().to_lowercase()))
}

/// A strength as typed, in ppm (mg/L): `0.3%`, `3000ppm`, `3000mg/l`, `3g/l`, `14.8mM`.
///
/// # Errors
/// If it is not understood, not above nothing, more than the whole, or millimoles of nothing named.
pub fn strength(text: &str, of: Option<&Substance>) -> Result<f64, MixProblem> {
    let (number, unit) =
        number_and_unit(text).ok_or_else(|| MixProblem::Strength(text.to_owned()))?;
    let ppm = match unit.as_str() {
        "%" | "percent" | "per cent" => number * PPM_PER_PERCENT,
        "ppm" | "mg/l" | "ug/ml" | "µg/ml" => number,
        "g/l" | "mg/ml" => number * 1000.0,
        "mm" | "mmol/l" => of.ok_or(MixProblem::MolesOfWhat)?.mg_per_litre(number),
        "um" | "µm" | "umol/l" => of
            .ok_or(MixProblem::MolesOfWhat)?
            .mg_per_litre(number / 1000.0),
        _ => return Err(MixProblem::Strength(text.to_owned())),
    };
    // One millilitre at this strength: only to have the range checked.
    grams_for(1.0, ppm)?;
    Ok(ppm)
}

/// A volume as typed, in millilitres.
///
/// # Errors
/// If it is not understood, not above nothing, or a gallon of no country.
pub fn volume(text: &str) -> Result<f64, MixProblem> {
    let (number, unit) =
        number_and_unit(text).ok_or_else(|| MixProblem::Volume(text.to_owned()))?;
    let each = match unit.as_str() {
        "ml" | "cc" | "cm3" => 1.0,
        "l" | "litre" | "litres" | "liter" | "liters" => 1000.0,
        "ul" | "µl" => 0.001,
        "floz" | "fl oz" | "usfloz" => ML_PER_US_FLUID_OUNCE,
        "usgal" | "us gal" => LITRES_PER_US_GALLON * 1000.0,
        "impgal" | "imp gal" => LITRES_PER_IMPERIAL_GALLON * 1000.0,
        "gal" | "gallon" | "gallons" => return Err(MixProblem::Gallon),
        _ => return Err(MixProblem::Volume(text.to_owned())),
    };
    if number > 0.0 && number.is_finite() {
        Ok(number * each)
    } else {
        Err(MixProblem::Volume(text.to_owned()))
    }
}

/// Parts as typed: `1:9` is one part of product *with* nine of water, ten in all.
///
/// # Errors
/// If they are not understood.
pub fn parts(text: &str) -> Result<(f64, f64), MixProblem> {
    let wrong = || MixProblem::Parts(text.to_owned());
    let (product, water) = text.split_once(':').ok_or_else(wrong)?;
    let read = |part: &str| part.trim().parse::<f64>().map_err(|_| wrong());
    Ok((read(product)?, read(water)?))
}

/// A figure with up to four significant digits and no needless zeros.
#[must_use]
pub fn figure(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let digits = (3 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// The same strength in every unit, a line each; for an acid and its salt, how much of the one stands
/// for the other.
#[must_use]
pub fn conversions(ppm: f64, of: Option<&Substance>) -> Vec<String> {
    let percent = ppm_to_percent(ppm);
    let mut lines = vec![
        format!(
            "{} ppm = {} mg/L = {} g/L",
            figure(ppm),
            figure(ppm),
            figure(ppm / 1000.0)
        ),
        format!("{} ppm / 10 000 = {} %", figure(ppm), figure(percent)),
    ];
    if let Some(of) = of {
        lines.push(format!(
            "{} mg/L / {} g/mol = {} mM {}",
            figure(ppm),
            of.molar_mass,
            figure(of.millimolar(ppm)),
            of.name
        ));
        let other = match of.name {
            "IBA" => Some(K_IBA),
            "K-IBA" => Some(IBA),
            "NAA" => Some(K_NAA),
            "K-NAA" => Some(NAA),
            _ => None,
        };
        lines.extend(other.map(|other| {
            format!(
                "{} ppm {} x {} / {} = {} ppm {} with as many molecules",
                figure(ppm),
                of.name,
                other.molar_mass,
                of.molar_mass,
                figure(other.equivalent_of(of, ppm)),
                other.name
            )
        }));
    }
    lines
}

/// Most of a substance that water holds, mg/L; nothing for the salts, which dissolve freely.
fn most_in_water(of: &Substance) -> Option<f64> {
    match of.name {
        "IBA" => Some(IBA_IN_WATER_PPM),
        "NAA" => Some(NAA_IN_WATER_PPM),
        "IAA" => Some(IAA_IN_WATER_PPM),
        _ => None,
    }
}

/// Refuses what water cannot hold.
///
/// # Errors
/// [`MixProblem::Insoluble`].
pub fn must_dissolve(of: &Substance, ppm: f64) -> Result<(), MixProblem> {
    match most_in_water(of).filter(|most| ppm > *most) {
        Some(most) => Err(MixProblem::Insoluble {
            name: of.name,
            most,
        }),
        None => Ok(()),
    }
}

/// The liquid of a mix in words, and what must be known of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixLiquid {
    /// As `plain water`.
    pub words: &'static str,
    /// What water would not do, a sentence.
    pub note: Option<String>,
}

/// In what a strength of a substance is made up. `water`: plain water was asked for.
///
/// # Errors
/// [`MixProblem::Insoluble`] if plain water was asked for and does not hold it.
pub fn liquid(of: Option<&Substance>, ppm: f64, water: bool) -> Result<MixLiquid, MixProblem> {
    let Some(of) = of else {
        let unknown = "Which substance it is was not said, so nobody looked whether it dissolves: say --of, and thin with the liquid that the label names.";
        return Ok(MixLiquid {
            words: if water {
                "plain water"
            } else {
                "the stock's own liquid"
            },
            note: Some(unknown.to_owned()),
        });
    };
    match (must_dissolve(of, ppm), water) {
        (Err(why), true) => Err(why),
        (Ok(()), _) => Ok(MixLiquid {
            words: "plain water",
            note: None,
        }),
        (Err(_), false) => Ok(MixLiquid {
            words: "the alcohol that the label names",
            note: most_in_water(of).map(|most| {
                format!(
                    "Water alone will not do: it holds about {most} mg/L of {} and this is {} mg/L. Alcohol burns.",
                    of.name,
                    figure(ppm)
                )
            }),
        }),
    }
}

/// Asks about a strength or volume that is likelier a slip, unless it is said to be meant.
///
/// # Errors
/// [`MixProblem::Unlikely`].
pub fn must_be_likely(ppm: f64, millilitres: f64, sure: bool) -> Result<(), MixProblem> {
    let unlikely = match (ppm >= ASKED_PPM, millilitres >= ASKED_ML) {
        (true, _) => format!(
            "{} % is stronger than any mix known here",
            figure(ppm_to_percent(ppm))
        ),
        (_, true) => format!(
            "{} litres is more than a tank",
            figure(millilitres / 1000.0)
        ),
        _ => return Ok(()),
    };
    match sure {
        true => Ok(()),
        false => Err(MixProblem::Unlikely(unlikely)),
    }
}

/// Asks about parts that hold more product than water, unless they are said to be meant.
///
/// # Errors
/// [`MixProblem::Unlikely`].
pub fn must_be_thinned(product: f64, water: f64, sure: bool) -> Result<(), MixProblem> {
    if sure || product <= water {
        return Ok(());
    }
    Err(MixProblem::Unlikely(format!(
        "{}:{} is more product than water; one part of product with {} of water is 1:{}",
        figure(product),
        figure(water),
        figure(product),
        figure(product)
    )))
}

/// Stock and `liquid` for a working solution, with the arithmetic. Strengths in ppm, volume in mL.
///
/// # Errors
/// A mix that cannot be.
pub fn thinning(
    stock: f64,
    wanted: f64,
    millilitres: f64,
    liquid: &str,
) -> Result<Vec<String>, MixProblem> {
    let mix = dilute(stock, wanted, millilitres)?;
    Ok(vec![
        format!(
            "{} mL x {} ppm / {} ppm = {} mL of stock",
            figure(millilitres),
            figure(wanted),
            figure(stock),
            figure(mix.stock)
        ),
        format!(
            "{} mL - {} mL = {} mL of {liquid} to make it up",
            figure(millilitres),
            figure(mix.stock),
            figure(mix.diluent)
        ),
    ])
}

/// Grams of the pure substance for a solution in `liquid`, with the arithmetic. Strength in ppm, volume in mL.
///
/// # Errors
/// A mix that cannot be.
pub fn weighing(
    of: &Substance,
    ppm: f64,
    millilitres: f64,
    liquid: &str,
) -> Result<Vec<String>, MixProblem> {
    let grams = grams_for(millilitres, ppm)?;
    Ok(vec![format!(
        "{} mL x {} mg/L / 1 000 000 = {} g of {} ({}), made up to {} mL with {liquid}",
        figure(millilitres),
        figure(ppm),
        figure(grams),
        of.name,
        of.chemical,
        figure(millilitres)
    )])
}

/// Solution for so many cuttings, with the arithmetic; the volume in mL comes with it.
///
/// # Errors
/// No cuttings, a volume not above nothing, a negative spare.
pub fn enough(cuttings: u32, ml_each: f64, spare: f64) -> Result<(f64, String), MixProblem> {
    let needed = volume_for(cuttings, ml_each, spare)?;
    let line = format!(
        "{cuttings} cuttings x {} mL x {} = {} mL",
        figure(ml_each),
        figure(1.0 + spare),
        figure(needed)
    );
    Ok((needed, line))
}

/// The strength that parts of product and water come to, with the arithmetic. The product in ppm.
///
/// # Errors
/// Parts that cannot be.
pub fn parted(stock: f64, product: f64, water: f64) -> Result<(f64, String), MixProblem> {
    let made = by_parts(stock, product, water)?;
    let line = format!(
        "{} % x {} / ({} + {}) = {} %",
        figure(ppm_to_percent(stock)),
        figure(product),
        figure(product),
        figure(water),
        figure(ppm_to_percent(made))
    );
    Ok((made, line))
}
