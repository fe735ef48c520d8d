//! `mix`: the arithmetic of hormone and disinfectant mixes, shown step by step, cautions beside it.

use super::cautions;
use super::context::Context;
use super::exit::Exit;
use super::output;
use crate::app::failure::Failure;
use crate::text::mixing;
use crate::text::mixing::MixProblem;
use clap::{Args, Subcommand};

/// MixArguments of `mix`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
struck mix convert 0.3% --of IBA\n  \
struck mix thin 1% 3000ppm --make 250ml --of K-IBA\n  \
struck mix weigh K-IBA 3000ppm --cuttings 400 --each 0.1ml\n  \
struck mix disinfect 5.25% --parts 1:9")]
pub struct MixArguments {
    #[command(subcommand)]
    what: What,
}

/// How much is to be made.
#[derive(Args, Debug)]
#[group(multiple = true)]
struct Amount {
    /// This much of the mix, as 250ml
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
        /// IBA, K-IBA, NAA or IAA
        #[arg(long, value_name = "SUBSTANCE")]
        of: Option<String>,
    },
    /// A working solution from a stock
    Thin {
        /// Strength of the stock
        stock: String,
        /// Strength wanted
        wanted: String,
        /// IBA, K-IBA, NAA or IAA
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
        /// IBA, K-IBA, NAA or IAA
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
        /// This much of the mix, as 10l
        #[arg(long, value_name = "VOLUME")]
        make: Option<String>,
    },
}

/// Runs it.
pub fn run(context: &Context, arguments: &MixArguments) -> Result<Exit, Failure> {
    let (lines, hazards): (Vec<String>, &[&str]) = match &arguments.what {
        What::Disinfect {
            product,
            parts,
            to,
            make,
        } => (
            disinfect(product, parts.as_deref(), to.as_deref(), make.as_deref())?,
            &["disinfectant"],
        ),
        other => (hormone(other)?, &["hormone"]),
    };
    let mut text = String::new();
    for line in lines {
        text.push_str(&context.lines(&line));
    }
    text.push('\n');
    text.push_str(&cautions::beside(context, hazards));
    Ok(output::data(&text).err().unwrap_or(Exit::Done))
}

fn refused(why: MixProblem) -> Failure {
    match why {
        MixProblem::Impossible(_) | MixProblem::Insoluble { .. } => Failure::could(why.to_string()),
        _ => Failure::usage(why.to_string()),
    }
}

fn hormone(what: &What) -> Result<Vec<String>, Failure> {
    match what {
        What::Convert { strength, of } => convert(strength, of.as_deref()).map_err(refused),
        What::Thin {
            stock,
            wanted,
            of,
            water,
            amount,
        } => {
            let (volume, mut lines) = volume(amount)?;
            lines.extend(thin(stock, wanted, of.as_deref(), *water, volume).map_err(refused)?);
            Ok(lines)
        }
        What::Weigh {
            of,
            wanted,
            water,
            amount,
        } => {
            let (volume, mut lines) = volume(amount)?;
            lines.extend(weigh(of, wanted, *water, volume).map_err(refused)?);
            Ok(lines)
        }
        What::Disinfect { .. } => Ok(Vec::new()),
    }
}

fn convert(strength: &str, of: Option<&str>) -> Result<Vec<String>, MixProblem> {
    let of = of.map(mixing::substance).transpose()?;
    let ppm = mixing::strength(strength, of.as_ref())?;
    Ok(mixing::conversions(ppm, of.as_ref()))
}

fn thin(
    stock: &str,
    wanted: &str,
    of: Option<&str>,
    water: bool,
    volume: f64,
) -> Result<Vec<String>, MixProblem> {
    let of = of.map(mixing::substance).transpose()?;
    let stock = mixing::strength(stock, of.as_ref())?;
    let wanted = mixing::strength(wanted, of.as_ref())?;
    if let (Some(of), true) = (&of, water) {
        mixing::must_dissolve(of, wanted)?;
    }
    mixing::thinning(stock, wanted, volume)
}

fn weigh(of: &str, wanted: &str, water: bool, volume: f64) -> Result<Vec<String>, MixProblem> {
    let of = mixing::substance(of)?;
    let wanted = mixing::strength(wanted, Some(&of))?;
    if water {
        mixing::must_dissolve(&of, wanted)?;
    }
    mixing::weighing(&of, wanted, volume)
}

/// The volume wanted in mL, with the arithmetic if it goes by cuttings.
fn volume(amount: &Amount) -> Result<(f64, Vec<String>), Failure> {
    if let Some(make) = &amount.make {
        return Ok((mixing::volume(make).map_err(refused)?, Vec::new()));
    }
    let (Some(cuttings), Some(each)) = (amount.cuttings, &amount.each) else {
        return Err(Failure::usage("How much is wanted?")
            .hint("Say --make 250ml, or --cuttings 400 --each 0.1ml."));
    };
    let each = mixing::volume(each).map_err(refused)?;
    let (needed, line) = mixing::enough(cuttings, each, amount.spare / 100.0).map_err(refused)?;
    Ok((needed, vec![line]))
}

fn disinfect(
    product: &str,
    parts: Option<&str>,
    to: Option<&str>,
    make: Option<&str>,
) -> Result<Vec<String>, Failure> {
    let product = mixing::strength(product, None).map_err(refused)?;
    let (wanted, mut lines) = match (parts, to) {
        (Some(parts), _) => {
            let (part, water) = mixing::parts(parts).map_err(refused)?;
            let (made, line) = mixing::parted(product, part, water).map_err(refused)?;
            (made, vec![line])
        }
        (None, Some(to)) => (mixing::strength(to, None).map_err(refused)?, Vec::new()),
        (None, None) => {
            return Err(Failure::usage("How strong is it to be?")
                .hint("Say --parts 1:9 or --to 0.5%, as the label asks."));
        }
    };
    // Without a volume the answer is for ten litres: a bucket.
    let volume = make.map_or(Ok(10_000.0), mixing::volume).map_err(refused)?;
    if parts.is_none() || make.is_some() {
        lines.extend(mixing::thinning(product, wanted, volume).map_err(refused)?);
    }
    Ok(lines)
}
