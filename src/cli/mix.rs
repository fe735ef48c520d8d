//! `mix`: the arithmetic of hormone and disinfectant mixes, shown step by step, cautions beside it.

use super::cautions;
use super::context::Context;
use super::output;
use super::output::Exit;
use crate::app::failure::Failure;
use crate::stats::mixing::{Substance, dilute, grams_for, ppm_to_percent};
use crate::text::mixing;
use crate::text::mixing::MixProblem;
use clap::{Args, Subcommand};
use serde::Serialize;
use std::collections::BTreeMap;

/// The arguments of `mix`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
struck mix convert 0.3% --of IBA\n  \
struck mix thin 1% 3000ppm --make 250ml --of K-IBA\n  \
struck mix weigh K-IBA 3000ppm --cuttings 400 --each 0.1ml\n  \
struck mix disinfect 5.25% --parts 1:9")]
pub struct MixArguments {
    #[command(subcommand)]
    what: What,
    /// As JSON
    #[arg(long, global = true)]
    json: bool,
    /// A strength, volume or share of parts that looks like a slip is meant
    #[arg(long, global = true)]
    sure: bool,
}

/// How much is to be made.
#[derive(Args, Debug)]
#[group(multiple = true)]
struct Amount {
    /// So much of it, as 250ml
    #[arg(long, value_name = "VOLUME", conflicts_with = "cuttings")]
    make: Option<String>,
    /// Enough for so many cuttings
    #[arg(long, value_name = "N")]
    cuttings: Option<u32>,
    /// What each cutting takes up or drips off, as you measured it
    #[arg(long, value_name = "VOLUME", requires = "cuttings")]
    each: Option<String>,
    /// More than needed, in per cent
    #[arg(long, value_name = "%", default_value_t = 20.0)]
    spare: f64,
}

#[derive(Subcommand, Debug)]
enum What {
    /// The same strength in per cent, ppm, mg/L and mM
    Convert {
        /// As 0.3%, 3000ppm, 3g/l, 14.8mM
        strength: String,
        /// IBA, K-IBA, NAA, K-NAA or IAA
        #[arg(long, value_name = "SUBSTANCE")]
        of: Option<String>,
    },
    /// A working solution from a stock
    Thin {
        /// Strength of the stock
        stock: String,
        /// Strength wanted
        wanted: String,
        /// IBA, K-IBA, NAA, K-NAA or IAA
        #[arg(long, value_name = "SUBSTANCE")]
        of: Option<String>,
        /// It is thinned with plain water
        #[arg(long)]
        water: bool,
        #[command(flatten)]
        amount: Amount,
    },
    /// A solution from the pure substance
    Weigh {
        /// IBA, K-IBA, NAA, K-NAA or IAA
        of: String,
        /// Strength wanted
        wanted: String,
        /// It is dissolved in plain water
        #[arg(long)]
        water: bool,
        #[command(flatten)]
        amount: Amount,
    },
    /// A disinfectant thinned with water
    Disinfect {
        /// Strength of the product, as the label gives it
        product: String,
        /// Parts of product and water, as 1:9
        #[arg(long, value_name = "P:W", conflicts_with = "to")]
        parts: Option<String>,
        /// Strength that the label wants
        #[arg(long, value_name = "STRENGTH")]
        to: Option<String>,
        /// So much of it, as 10l
        #[arg(long, value_name = "VOLUME")]
        make: Option<String>,
    },
}

/// A mix worked out: each step as shown, and its figures under names that end in their units.
#[derive(Debug, Default, Serialize)]
struct MixAnswer {
    /// The arithmetic, a line a step.
    steps: Vec<String>,
    /// Strengths (`_ppm` is mg/L), volumes (`_ml`) and masses (`_g`).
    figures: BTreeMap<&'static str, f64>,
    /// What it is made up with.
    liquid: Option<&'static str>,
    /// What was assumed, and what to beware of.
    notes: Vec<String>,
    /// The cautions on what is handled.
    cautions: Vec<&'static str>,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &MixArguments) -> Result<Exit, Failure> {
    let sure = arguments.sure;
    let (mut answer, hazards): (MixAnswer, &[&str]) = match &arguments.what {
        What::Convert { strength, of } => {
            let answer = convert(strength, of.as_deref(), sure).map_err(refused)?;
            (answer, &["hormone"])
        }
        What::Thin {
            stock,
            wanted,
            of,
            water,
            amount,
        } => {
            let made = volume(amount)?;
            let of = substance(of.as_deref())?;
            let strengths = [stock, wanted].map(|text| mixing::strength(text, of.as_ref()));
            let [stock, wanted] = strengths;
            let (stock, wanted) = (stock.map_err(refused)?, wanted.map_err(refused)?);
            let answer = thin(stock, wanted, of.as_ref(), *water, made, sure).map_err(refused)?;
            (answer, &["hormone"])
        }
        What::Weigh {
            of,
            wanted,
            water,
            amount,
        } => {
            let made = volume(amount)?;
            let answer = weigh(of, wanted, *water, made, sure).map_err(refused)?;
            (answer, &["hormone", "powder"])
        }
        What::Disinfect {
            product,
            parts,
            to,
            make,
        } => (
            disinfect(
                product,
                parts.as_deref(),
                to.as_deref(),
                make.as_deref(),
                sure,
            )?,
            &["disinfectant"],
        ),
    };
    let alcohol = answer
        .liquid
        .is_some_and(|liquid| liquid.contains("alcohol"));
    let hazards: Vec<&str> = hazards
        .iter()
        .copied()
        .chain(alcohol.then_some("alcohol"))
        .collect();
    if !matches!(arguments.what, What::Convert { .. }) {
        answer.notes.push(mixing::ORDER.to_owned());
    }
    if arguments.json {
        answer.cautions = cautions::lines(&hazards);
        return Ok(output::json(&answer).err().unwrap_or(Exit::Done));
    }
    let mut text = String::new();
    for line in answer.steps.iter().chain(&answer.notes) {
        text.push_str(&context.lines(line));
    }
    text.push('\n');
    text.push_str(&cautions::beside(context, &hazards));
    Ok(output::data(&text).err().unwrap_or(Exit::Done))
}

fn refused(why: MixProblem) -> Failure {
    match why {
        MixProblem::Impossible(_) | MixProblem::Insoluble { .. } => Failure::could(why.to_string()),
        _ => Failure::usage(why.to_string()),
    }
}

fn substance(of: Option<&str>) -> Result<Option<Substance>, Failure> {
    of.map(mixing::substance).transpose().map_err(refused)
}

fn convert(strength: &str, of: Option<&str>, sure: bool) -> Result<MixAnswer, MixProblem> {
    let of = of.map(mixing::substance).transpose()?;
    let ppm = mixing::strength(strength, of.as_ref())?;
    mixing::must_be_likely(ppm, 1.0, sure)?;
    let mut figures = BTreeMap::from([("strength_ppm", ppm), ("percent", ppm_to_percent(ppm))]);
    figures.extend(of.map(|of| ("millimolar", of.millimolar(ppm))));
    Ok(MixAnswer {
        steps: mixing::conversions(ppm, of.as_ref()),
        figures,
        ..MixAnswer::default()
    })
}

/// The volume wanted in mL, with the arithmetic if it goes by cuttings.
struct Volume {
    millilitres: f64,
    steps: Vec<String>,
}

fn thin(
    stock: f64,
    wanted: f64,
    of: Option<&Substance>,
    water: bool,
    made: Volume,
    sure: bool,
) -> Result<MixAnswer, MixProblem> {
    let volume = made.millilitres;
    mixing::must_be_likely(wanted, volume, sure)?;
    let liquid = mixing::liquid(of, wanted, water)?;
    let mut steps = made.steps;
    steps.extend(mixing::thinning(stock, wanted, volume, liquid.words)?);
    let mix = dilute(stock, wanted, volume)?;
    Ok(MixAnswer {
        steps,
        figures: BTreeMap::from([
            ("stock_ppm", stock),
            ("wanted_ppm", wanted),
            ("make_ml", volume),
            ("stock_ml", mix.stock),
            ("liquid_ml", mix.diluent),
        ]),
        liquid: Some(liquid.words),
        notes: liquid.note.into_iter().collect(),
        cautions: Vec::new(),
    })
}

fn weigh(
    of: &str,
    wanted: &str,
    water: bool,
    made: Volume,
    sure: bool,
) -> Result<MixAnswer, MixProblem> {
    let of = mixing::substance(of)?;
    let wanted = mixing::strength(wanted, Some(&of))?;
    let volume = made.millilitres;
    mixing::must_be_likely(wanted, volume, sure)?;
    let liquid = mixing::liquid(Some(&of), wanted, water)?;
    let mut steps = made.steps;
    steps.extend(mixing::weighing(&of, wanted, volume, liquid.words)?);
    Ok(MixAnswer {
        steps,
        figures: BTreeMap::from([
            ("wanted_ppm", wanted),
            ("make_ml", volume),
            ("substance_g", grams_for(volume, wanted)?),
        ]),
        liquid: Some(liquid.words),
        notes: liquid.note.into_iter().collect(),
        cautions: Vec::new(),
    })
}

fn volume(amount: &Amount) -> Result<Volume, Failure> {
    if let Some(make) = &amount.make {
        return Ok(Volume {
            millilitres: mixing::volume(make).map_err(refused)?,
            steps: Vec::new(),
        });
    }
    let (Some(cuttings), Some(each)) = (amount.cuttings, &amount.each) else {
        return Err(Failure::usage("How much do you want?")
            .hint("Say --make 250ml, or --cuttings 400 --each 0.1ml."));
    };
    if !(0.0..=200.0).contains(&amount.spare) {
        return Err(Failure::usage("--spare is 0 to 200 per cent."));
    }
    let each = mixing::volume(each).map_err(refused)?;
    let (millilitres, line) =
        mixing::enough(cuttings, each, amount.spare / 100.0).map_err(refused)?;
    Ok(Volume {
        millilitres,
        steps: vec![line],
    })
}

fn disinfect(
    product: &str,
    parts: Option<&str>,
    to: Option<&str>,
    make: Option<&str>,
    sure: bool,
) -> Result<MixAnswer, Failure> {
    let product = mixing::strength(product, None).map_err(refused)?;
    let mut notes = Vec::new();
    let (wanted, mut steps) = match (parts, to) {
        (Some(parts), _) => {
            let (part, water) = mixing::parts(parts).map_err(refused)?;
            mixing::must_be_thinned(part, water, sure).map_err(refused)?;
            let (made, line) = mixing::parted(product, part, water).map_err(refused)?;
            (made, vec![line])
        }
        (None, Some(to)) => {
            notes.push("This takes both strengths to be of the same substance and measured the same way, as the label gives them; where the label says parts or millilitres a litre, go by these.".to_owned());
            (mixing::strength(to, None).map_err(refused)?, Vec::new())
        }
        (None, None) => {
            return Err(Failure::usage("How strong is it to be?")
                .hint("Say --parts 1:9 or --to 0.5%, as the label asks."));
        }
    };
    // Without a volume the answer is for ten litres: a bucket.
    let volume = make.map_or(Ok(10_000.0), mixing::volume).map_err(refused)?;
    mixing::must_be_likely(wanted, volume, sure).map_err(refused)?;
    let mut figures = BTreeMap::from([("product_ppm", product), ("made_ppm", wanted)]);
    if parts.is_none() || make.is_some() {
        let thinned = mixing::thinning(product, wanted, volume, "water");
        steps.extend(thinned.map_err(refused)?);
        let mix = dilute(product, wanted, volume).map_err(|why| refused(why.into()))?;
        figures.extend([
            ("make_ml", volume),
            ("product_ml", mix.stock),
            ("liquid_ml", mix.diluent),
        ]);
    }
    Ok(MixAnswer {
        steps,
        figures,
        liquid: Some("water"),
        notes,
        cautions: Vec::new(),
    })
}
