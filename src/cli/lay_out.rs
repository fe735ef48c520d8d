//! `lay-out`: how large a trial must be, and which tray gets which arm. It writes no entry.

use super::compare::worth;
use super::context::Context;
use super::exit::Exit;
use super::filters::Filters;
use super::{named, output};
use crate::analysis::trials::design::{MOST_ARMS, Size, TooLittle, Tray, Wanted, layout, size};
use crate::app::failure::Failure;
use crate::fold::selection::Selection;
use crate::model::taxon::Taxon;
use crate::model::text::folded;
use crate::text::cautions::taxon_cautions;
use crate::text::clean::shown_in;
use clap::Args;
use std::collections::BTreeSet;

/// LayOutArguments of `lay-out`.
#[derive(Args, Debug)]
pub struct LayOutArguments {
    /// The plant to be stuck
    #[arg(value_name = "TAXON")]
    of: Vec<String>,
    /// The arms, two to eight, set off by commas: "mist, box"
    #[arg(long, value_name = "ARM,ARM,...")]
    arms: String,
    /// The name of the new trial
    #[arg(long, value_name = "NAME", default_value = "new trial")]
    name: String,
    /// Points of rooted % that would be worth having
    #[arg(long, value_name = "POINTS", default_value_t = 15.0)]
    worth: f64,
    /// Cuttings in a batch
    #[arg(long, value_name = "N", default_value_t = 24)]
    cuttings: u32,
    /// Places to spread it over, set off by commas; each gets every arm
    #[arg(
        long,
        visible_alias = "at",
        value_name = "PLACE,PLACE",
        default_value = ""
    )]
    over: String,
    /// Batches an arm, if you know already
    #[arg(long, value_name = "N")]
    batches: Option<u32>,
    /// Seed of the order of the trays
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    filters: Filters,
}

/// Runs it.
pub fn run(context: &Context, arguments: &LayOutArguments) -> Result<Exit, Failure> {
    let arms = listed(&arguments.arms);
    let told_apart: BTreeSet<String> = arms.iter().map(|arm| folded(arm)).collect();
    if !(2..=MOST_ARMS as usize).contains(&arms.len()) || told_apart.len() < arms.len() {
        return Err(Failure::usage(format!(
            "A trial has two to {MOST_ARMS} arms, all different."
        ))
        .hint("Say --arms \"mist, box\"."));
    }
    let (batches, mut out) = match arguments.batches {
        Some(batches) if (1..=999).contains(&batches) => (batches, String::new()),
        Some(_) => return Err(Failure::usage("--batches is 1 to 999.")),
        None => planned(context, arguments, arms.len() as u32)?,
    };
    let places = listed(&arguments.over);
    let blocks = places.len().max(1) as u32;
    // Every place holds each arm equally often.
    let batches = batches.div_ceil(blocks) * blocks;
    if places.is_empty() {
        output::say(&context.lines(NO_PLACE));
    }
    let taxon = taxon(context, &arguments.of.join(" "))?;
    for tray in layout(&arms, batches, &places, arguments.seed) {
        out.push_str(&line(arguments, &taxon, &tray));
    }
    for caution in taxon_cautions(&Taxon::parse(&taxon), context.open_to_try()?.book()) {
        output::say(&context.lines(&format!("! {}", caution.line)));
    }
    let told = output::data(&shown_lines(context, &out));
    Ok(told.err().unwrap_or(Exit::Done))
}

/// What tells the trays apart where no place was named.
const NO_PLACE: &str =
    "A line a tray, in the order in which they are to stand. With --at PLACE each gets its spot.";

/// The taxon's name as the journal writes it, so that the lines begin no second one; as typed if it has none.
fn taxon(context: &Context, typed: &str) -> Result<String, Failure> {
    if typed.is_empty() {
        return Ok("TAXON".to_owned());
    }
    // A trial may come before the first journal.
    let desk = context.open_to_try()?;
    let meant = named::taxa_meant(desk.book(), typed);
    match meant.as_slice() {
        [] => {
            output::say(&format!(
                "{} The lines take it as typed.\n",
                named::no_taxon(desk.book(), typed)
            ));
            Ok(typed.to_owned())
        }
        [one] => Ok(one.shown()),
        many => Err(named::which(typed, many)),
    }
}

fn shown_lines(context: &Context, text: &str) -> String {
    let shown = text.lines().map(|line| shown_in(line, context.charset));
    shown.map(|line| line + "\n").collect()
}

fn listed(text: &str) -> Vec<String> {
    let each = text.split(',').map(str::trim);
    each.filter(|it| !it.is_empty())
        .map(str::to_owned)
        .collect()
}

/// Batches an arm with the reasons in words.
fn planned(
    context: &Context,
    arguments: &LayOutArguments,
    arms: u32,
) -> Result<(u32, String), Failure> {
    let mut filter = arguments.filters.read(&|text| context.day(text))?;
    if !arguments.of.is_empty() {
        filter.taxon = Some(arguments.of.join(" "));
    }
    let wanted = Wanted {
        about: Selection {
            filter,
            ..Selection::default()
        },
        worth: worth("--worth", arguments.worth, 100.0)? / 100.0,
        arms,
        cuttings: arguments.cuttings,
        power: 0.8,
        alpha: 0.05,
        seed: arguments.seed,
    };
    let desk = context.open()?;
    named::check(desk.book(), &wanted.about.filter)?;
    let size = size(desk.book(), &wanted).map_err(too_little)?;
    let Some(batches) = size.batches else {
        return Err(
            Failure::could("It would take over 200 batches an arm.").hint(
                "Stick larger batches, or settle for a larger difference: --cuttings, --worth.",
            ),
        );
    };
    let mut out = context.lines(&said(&size, batches, arguments.worth));
    out.push('\n');
    Ok((batches, out))
}

fn said(size: &Size, batches: u32, worth: f64) -> String {
    let power = size.power.map_or(0.0, |it| 100.0 * it.value);
    let pair = match size.pairs {
        1 => String::new(),
        pairs => format!(" between any two arms, {pairs} pairs being tested,"),
    };
    format!(
        "{batches} batches of {} an arm find a difference of {worth:.0} points{pair} in {power:.0} of 100 trials. From {} closed batches: {:.0} % rooted, correlation within a batch {:.2}.",
        size.cuttings,
        size.seen,
        100.0 * size.share,
        size.rho
    )
}

fn too_little(why: TooLittle) -> Failure {
    let hint = "Widen the batches meant, or say --batches.";
    match why {
        TooLittle::NoBatch => Failure::could("No closed batch is meant.").hint(hint),
        TooLittle::NoSpread => {
            Failure::could("No two alike batches tell how batches differ.").hint(hint)
        }
        TooLittle::OutOfRange => Failure::usage("--cuttings is 1 to 100000."),
    }
}

/// A line to type on the day.
fn line(arguments: &LayOutArguments, taxon: &str, tray: &Tray) -> String {
    let at = match &tray.place {
        None => String::new(),
        Some(place) => format!(", at {place}/{}", tray.spot),
    };
    format!(
        "stick {} {taxon}{at}, trial {}, arm {}\n",
        arguments.cuttings, arguments.name, tray.arm
    )
}
