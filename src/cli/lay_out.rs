//! `lay-out`: how large a trial must be, and which tray gets which arm. It writes no entry.

use super::compare::worth;
use super::context::Context;
use super::filters::Filters;
use super::output::Exit;
use super::{filters, output};
use crate::analysis::trials::design::{MOST_ARMS, TooLittle, Tray, TrialWanted, layout, size};
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::vocabulary::vocabulary;
use crate::fold::Book;
use crate::fold::selection::Selection;
use crate::input::bench_line::{self, Now};
use crate::model::at::At;
use crate::model::taxon::Taxon;
use crate::model::text::folded;
use crate::model::value::Value;
use crate::text::cautions::taxon_cautions;
use crate::text::clean::shown_in;
use clap::Args;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// The arguments of `lay-out`.
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
    /// Batches in each arm, if you know already
    #[arg(long, value_name = "N")]
    batches: Option<u32>,
    /// Seed of the order of the trays
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    filters: Filters,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The answer: how large the trial must be, and its trays in the order in which they are to stand.
#[derive(Serialize)]
struct LayOutAnswer {
    taxon: String,
    trial: String,
    arms: Vec<String>,
    cuttings: u32,
    batches_per_arm: u32,
    seed: u64,
    size: Option<SizeAnswer>,
    trays: Vec<TrayAnswer>,
    remarks: Vec<String>,
    cautions: Vec<String>,
}

/// Why so many batches: the difference that they find, how often, and the closed batches that this rests on.
#[derive(Clone, Copy, Debug, Serialize)]
struct SizeAnswer {
    batches_per_arm: u32,
    worth: f64,
    power: Option<f64>,
    pairs: u32,
    closed_batches: usize,
    share: f64,
    correlation: f64,
}

/// A tray, and the line to type on the day.
#[derive(Serialize)]
struct TrayAnswer {
    arm: String,
    place: Option<String>,
    spot: Option<u32>,
    line: String,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &LayOutArguments) -> Result<Exit, Failure> {
    let arms = listed(&arguments.arms);
    let told_apart: BTreeSet<String> = arms.iter().map(|arm| folded(arm)).collect();
    if !(2..=MOST_ARMS as usize).contains(&arms.len()) || told_apart.len() < arms.len() {
        return Err(Failure::usage(format!(
            "A trial has two to {MOST_ARMS} arms, all different."
        ))
        .hint("Say --arms \"mist, box\"."));
    }
    let (batches, size) = match arguments.batches {
        Some(batches) if (1..=999).contains(&batches) => (batches, None),
        Some(_) => return Err(Failure::usage("--batches is 1 to 999.")),
        None => {
            let size = planned(context, arguments, arms.len() as u32)?;
            (size.batches_per_arm, Some(size))
        }
    };
    let places = listed(&arguments.over);
    let blocks = places.len().max(1) as u32;
    // Every place holds each arm equally often.
    let batches = batches.div_ceil(blocks) * blocks;
    // A trial may come before the first journal.
    let mut desk = context.open_or_empty()?;
    let taxon = taxon(desk.book(), &arguments.of.join(" "))?;
    let facts = facts_of_arms(&mut desk, &arms)?;
    let tray = |tray: &Tray| TrayAnswer {
        arm: tray.arm.clone(),
        place: tray.place.clone(),
        spot: tray.place.as_ref().map(|_| tray.spot),
        line: line(arguments, &taxon, tray, facts.get(&tray.arm)),
    };
    let cautions = taxon_cautions(&Taxon::parse(&taxon), desk.book()).into_iter();
    let answer = LayOutAnswer {
        trial: arguments.name.clone(),
        cuttings: arguments.cuttings,
        batches_per_arm: batches,
        seed: arguments.seed,
        size,
        trays: layout(&arms, batches, &places, arguments.seed)
            .iter()
            .map(tray)
            .collect(),
        remarks: remarks(desk.book(), &facts, &places),
        cautions: cautions.map(|caution| caution.line).collect(),
        taxon,
        arms,
    };
    let written = if arguments.json {
        context.print_json(&answer)
    } else {
        print(context, &answer, places.is_empty())
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

/// The lines to type as data; what is to be borne in mind beside them.
fn print(context: &Context, answer: &LayOutAnswer, nowhere: bool) -> Result<(), Exit> {
    if nowhere {
        output::say(&context.lines(NO_PLACE));
    }
    for remark in &answer.remarks {
        output::say(&context.lines(remark));
    }
    for caution in &answer.cautions {
        output::say(&context.lines(&format!("! {caution}")));
    }
    let mut out = String::new();
    if let Some(size) = &answer.size {
        out.push_str(&context.lines(&size_words(size, answer.cuttings)));
        out.push('\n');
    }
    for tray in &answer.trays {
        out.push_str(&tray.line);
        out.push('\n');
    }
    context.print_text(&shown_lines(context, &out))
}

/// What an arm's name says of a tray when it is read as a phrase of the bench line.
struct ArmFact {
    /// The name, as a phrase.
    phrase: String,
    /// The cover that it names.
    cover: Option<String>,
}

/// Facts at sticking that an arm may be named by.
const FACTS: [&str; 6] = ["hormone", "cover", "wood", "cut", "piece", "medium"];

/// The arms whose names the bench line understands as a fact: `IBA 1000`, `box`. Their lines say it, so that the
/// journal knows what the arm is.
fn facts_of_arms(desk: &mut Desk, arms: &[String]) -> Result<BTreeMap<String, ArmFact>, Failure> {
    let at = desk.clock().now();
    let known = vocabulary(desk, At::Time(at))?;
    let clock = desk.clock();
    let offset_at = |local| clock.offset_at(local);
    let now = Now {
        at,
        offset_at: &offset_at,
    };
    let read = |arm: &String| {
        let reading = bench_line::read(&format!("stick 24 Taxon, {arm}"), &known, &now);
        let named = FACTS.iter().any(|field| reading.value(field).is_some());
        let cover = match reading.value("cover") {
            Some(Value::Text(cover)) => Some(cover.clone()),
            _ => None,
        };
        let phrase = arm.clone();
        (named && reading.is_whole()).then(|| (arm.clone(), ArmFact { phrase, cover }))
    };
    Ok(arms.iter().filter_map(read).collect())
}

/// Arms that are a cover at places that are recorded to have another.
fn remarks(book: &Book, facts: &BTreeMap<String, ArmFact>, places: &[String]) -> Vec<String> {
    let mut out = Vec::new();
    for (arm, cover) in facts
        .iter()
        .filter_map(|(arm, fact)| Some((arm, fact.cover.as_ref()?)))
    {
        for place in places {
            let own = book
                .places()
                .get(place)
                .and_then(|it| it.facts.as_ref()?.cover);
            if let Some(own) = own.filter(|own| own.word() != cover) {
                out.push(format!(
                    "Trays of arm {arm} stand at {place}, where the cover is {}: give them their own {cover} there, or lay out each arm at its own place.",
                    own.word()
                ));
            }
        }
    }
    out
}

/// What tells the trays apart where no place was named.
const NO_PLACE: &str = "One line a tray to enter, in the order in which to stand them. With --at PLACE each is given its spot.";

/// The taxon's name as the journal writes it, so that the lines begin no second one; as typed if it has none.
fn taxon(book: &Book, typed: &str) -> Result<String, Failure> {
    if typed.is_empty() {
        return Ok("TAXON".to_owned());
    }
    let meant = filters::taxa_meant(book, typed);
    match meant.as_slice() {
        [] => {
            output::say(&format!(
                "{} The lines below use it as typed.\n",
                filters::no_taxon(book, typed)
            ));
            Ok(typed.to_owned())
        }
        [one] => Ok(one.shown()),
        many => Err(filters::ambiguous_taxon(typed, many)),
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

/// How many batches an arm the trial needs, and why.
fn planned(
    context: &Context,
    arguments: &LayOutArguments,
    arms: u32,
) -> Result<SizeAnswer, Failure> {
    let mut filter = arguments.filters.read(&|text| context.day(text))?;
    if !arguments.of.is_empty() {
        filter.taxon = Some(arguments.of.join(" "));
    }
    let wanted = TrialWanted {
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
    filters::check_names(desk.book(), &wanted.about.filter)?;
    let size = size(desk.book(), &wanted).map_err(too_little)?;
    let Some(batches) = size.batches else {
        return Err(
            Failure::could("It would take over 200 batches in each arm.").hint(
                "Stick larger batches, or settle for a larger difference: --cuttings, --worth.",
            ),
        );
    };
    Ok(SizeAnswer {
        batches_per_arm: batches,
        worth: wanted.worth,
        power: size.power.map(|power| power.value),
        pairs: size.pairs,
        closed_batches: size.seen,
        share: size.share,
        correlation: size.rho,
    })
}

fn size_words(size: &SizeAnswer, cuttings: u32) -> String {
    let power = 100.0 * size.power.unwrap_or(0.0);
    let pair = match size.pairs {
        1 => String::new(),
        pairs => format!(" between any two arms, {pairs} pairs being tested,"),
    };
    format!(
        "{} batches of {cuttings} cuttings in each arm: a true difference of {:.0} points would show{pair} in {power:.0} of 100 such trials. Worked out from {} closed batches: {:.0} % rooted, correlation within a batch {:.2}.",
        size.batches_per_arm,
        100.0 * size.worth,
        size.closed_batches,
        100.0 * size.share,
        size.correlation
    )
}

fn too_little(why: TooLittle) -> Failure {
    let hint = "Choose more batches to go by, or say --batches.";
    match why {
        TooLittle::NoBatch => Failure::could("No closed batch fits that choice.").hint(hint),
        TooLittle::NoSpread => {
            Failure::could("It takes two closed batches stuck alike to tell how batches differ.")
                .hint(hint)
        }
        TooLittle::OutOfRange => Failure::usage("--cuttings is 1 to 100000."),
    }
}

/// A line to type on the day.
fn line(arguments: &LayOutArguments, taxon: &str, tray: &Tray, fact: Option<&ArmFact>) -> String {
    let at = match &tray.place {
        None => String::new(),
        Some(place) => format!(", at {place}/{}", tray.spot),
    };
    format!(
        "stick {} {taxon}{at}, trial {}, arm {}{}",
        arguments.cuttings,
        arguments.name,
        tray.arm,
        fact.map_or_else(String::new, |fact| format!(", {}", fact.phrase))
    )
}
