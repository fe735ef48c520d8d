//! `climate matters`: whether the air went with strike and losses here, and which clock tells the days better.
//! Associations with their uncertainty, each verdict by the rule that the book states.

use crate::analysis::air::clocks;
use crate::analysis::air::clocks::{ClockComparison, clocks};
use crate::analysis::air::lived::{PlaceAirs, USUAL_BASE_C};
use crate::analysis::air::matters;
use crate::analysis::air::matters::{
    AirMeasure, AirTie, AirTies, FateMeasure, TieVerdict, matters,
};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::csv_writer::csv_of_json;
use crate::cli::filters::Filters;
use crate::cli::output::Exit;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::Filter;
use crate::stats::bootstrap::Resampling;
use crate::stats::shares::Interval;
use crate::text::figures::Degrees;
use crate::text::figures::many;
use crate::text::table::{Column, table};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeMap;

/// The arguments of `climate matters`.
#[derive(Args, Debug)]
pub struct MattersArguments {
    #[command(flatten)]
    filters: Filters,
    /// Each taxon by itself too
    #[arg(long)]
    each: bool,
    /// Take the air over so many days from sticking
    #[arg(long, value_name = "N", default_value_t = 28, value_parser = clap::value_parser!(u32).range(1..=365))]
    days: u32,
    /// Base of the degree-days, as 5C or 41F; else each taxon's, else 5 °C
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    base: Option<String>,
    /// Random draws for p, at least 99
    #[arg(long, value_name = "N", default_value_t = 9999, value_parser = clap::value_parser!(u32).range(99..=1_000_000))]
    draws: u32,
    /// Resamples for the intervals
    #[arg(long, value_name = "N", default_value_t = 999, value_parser = clap::value_parser!(u32).range(0..=100_000))]
    resamples: u32,
    /// Seed of the random draws
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The figures of all taxa together, or of one.
struct TaxonFigures {
    taxon: Option<String>,
    air: AirTies,
    clock: ClockComparison,
}

/// The answer: how it was asked, and the figures of all taxa together and of each.
#[derive(Serialize)]
struct MattersAnswer {
    days: u32,
    level: f64,
    seed: u64,
    draws: u32,
    resamples: u32,
    base_c: Option<f64>,
    usual_base_c: f64,
    groups: Vec<GroupAnswer>,
}

/// One group's associations, and which clock foretells its days better.
#[derive(Serialize)]
struct GroupAnswer {
    taxon: Option<String>,
    places: usize,
    open: usize,
    unread: usize,
    skipped: usize,
    ties: Vec<TieAnswer>,
    clock: ClockAnswer,
}

/// The association of one share with one measure.
#[derive(Serialize)]
struct TieAnswer {
    against: &'static str,
    share: &'static str,
    verdict: &'static str,
    r: Option<f64>,
    r_range: Option<(f64, f64)>,
    slope: Option<f64>,
    slope_range: Option<(f64, f64)>,
    p: Option<f64>,
    p_corrected: Option<f64>,
    smallest_p: Option<f64>,
    places: Option<usize>,
    strata: Option<usize>,
}

/// A row of the CSV.
#[derive(Serialize)]
struct TaxonTie<'a> {
    taxon: Option<&'a str>,
    tie: &'a TieAnswer,
}

/// The columns of the CSV, a row an association; no taxon stands for all together.
const COLUMNS: [&str; 15] = [
    "taxon",
    "tie.against as against",
    "tie.share as share",
    "tie.verdict as verdict",
    "tie.r as r",
    "tie.r_range.0 as r_low",
    "tie.r_range.1 as r_high",
    "tie.slope as slope",
    "tie.slope_range.0 as slope_low",
    "tie.slope_range.1 as slope_high",
    "tie.p as p",
    "tie.p_corrected as p_corrected",
    "tie.smallest_p as smallest_p",
    "tie.places as places",
    "tie.strata as strata",
];

/// Mean errors in days by the calendar and by degree-days.
#[derive(Serialize)]
struct ClockAnswer {
    milestone: &'static str,
    verdict: &'static str,
    replicates: usize,
    kinds: usize,
    unread: usize,
    days_error: Option<f64>,
    degree_days_error: Option<f64>,
    difference: Option<f64>,
    difference_range: Option<(f64, f64)>,
    p: Option<f64>,
    smallest_p: Option<f64>,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &MattersArguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let desk = context.open()?;
    let book = desk.book();
    let degrees = Degrees::of_book(book);
    let base = arguments.base.as_deref();
    let base = base
        .map(|text| super::lived::base(text, degrees))
        .transpose()?;
    let how = Resampling {
        resamples: arguments.resamples as usize,
        seed: arguments.seed,
        level: 0.95,
    };
    let draws = arguments.draws as usize;
    let mut airs = PlaceAirs::new(book);
    // A taxon's key and name, or all that are meant.
    let mut tell = |taxon: Option<(String, String)>| {
        let (only, taxon) = taxon.unzip();
        let question = Selection {
            filter: Filter {
                only,
                ..filter.clone()
            },
            ..Selection::default()
        };
        let air = matters::TieQuestion {
            question: question.clone(),
            days: arguments.days,
            how,
            draws,
        };
        let clock = clocks::ClockQuestion {
            question,
            milestone: Milestone::Root,
            base,
            how,
            draws,
        };
        TaxonFigures {
            taxon,
            air: matters(&mut airs, &air),
            clock: clocks(&mut airs, &clock),
        }
    };
    let mut groups = vec![tell(None)];
    if arguments.each {
        let admits = filter.within(book);
        let taxa: BTreeMap<String, String> = book
            .batches()
            .iter()
            .filter(|batch| admits(batch))
            .map(|batch| (batch.taxon.key(), batch.taxon.shown()))
            .collect();
        groups.extend(taxa.into_iter().map(|taxon| tell(Some(taxon))));
    }
    let said = if arguments.json {
        context.print_json(&MattersAnswer {
            days: arguments.days,
            level: how.level,
            seed: arguments.seed,
            draws: arguments.draws,
            resamples: arguments.resamples,
            base_c: base,
            usual_base_c: USUAL_BASE_C,
            groups: groups.iter().map(group_answer).collect(),
        })
    } else if arguments.csv {
        let groups: Vec<GroupAnswer> = groups.iter().map(group_answer).collect();
        let rows = groups.iter().flat_map(|group| {
            let taxon = group.taxon.as_deref();
            group.ties.iter().map(move |tie| TaxonTie { taxon, tie })
        });
        context.print_csv(&csv_of_json(&COLUMNS, rows)?)
    } else {
        context.print_text(&text(context, arguments.days, &groups, degrees))
    };
    Ok(said.err().unwrap_or(Exit::Done))
}

fn text(context: &Context, days: u32, groups: &[TaxonFigures], degrees: Degrees) -> String {
    let mut out = String::new();
    for group in groups {
        let air = &group.air;
        out.push_str(&context.lines(
            &format!(
                "{}: {} with readings of the air in the batches' first {days} days. Not used: {} still open, {} with too few readings, {} kept out of the figures.",
                group.taxon.as_deref().unwrap_or("All batches"),
                many(air.places as u64, "place", "places"),
                many(air.open as u64, "batch", "batches"),
                air.unread,
                air.skipped
            ),
        ));
        if air.ties.iter().any(tells) {
            out.push('\n');
            out.push_str(&ties(context, air, degrees));
        }
        out.push('\n');
        for sentence in sentences(air, degrees) {
            out.push_str(&context.lines(&sentence));
        }
        out.push_str(&context.lines(&clock(&group.clock, degrees)));
        out.push('\n');
    }
    let mut shown = groups.iter().flat_map(|group| &group.air.ties);
    if !shown.any(tells) {
        return out;
    }
    out.push_str(&context.lines("r is the rank correlation over places, each batch compared with others of its taxon, wood stage and season; p comes from shuffling whole places and allows for the number of rows; ranges are 95 %, by resampling. This does not prove that the air was the cause: where it differs, places and people differ too."));
    out
}

/// Whether there are places enough for its figures to mean anything.
fn tells(tie: &AirTie) -> bool {
    tie.verdict != TieVerdict::TooFew
}

fn ties(context: &Context, air: &AirTies, degrees: Degrees) -> String {
    let columns = [
        Column::text("against").at_least(6),
        Column::text("share").at_least(9),
        Column::text("verdict").at_least(9),
        Column::number("r"),
        Column::number("95 %").dropping(1),
        Column::number("p").dropping(2),
        Column::number("points a step").dropping(3),
        Column::number("places").dropping(4),
    ];
    let rows: Vec<Vec<String>> = air
        .ties
        .iter()
        .filter(|tie| tells(tie))
        .filter_map(|tie| {
            let it = tie.figures?;
            Some(vec![
                measure(tie.measure).to_owned(),
                tie.outcome.word().to_owned(),
                tie.verdict.word().replace('-', " "),
                format!("{:.2}", it.rho),
                range(it.rho_interval, 1.0, 2),
                format!("{:.4}", tie.holm),
                format!("{:+.1}", points(tie, it.slope, degrees)),
                it.pairs.to_string(),
            ])
        })
        .collect();
    table(&columns, &rows, context.environment.width, context.charset)
}

fn measure(measure: AirMeasure) -> &'static str {
    match measure {
        AirMeasure::Vpd => "VPD",
        AirMeasure::Medium => "medium",
    }
}

fn range(interval: Option<Interval>, factor: f64, places: usize) -> String {
    interval.map_or_else(String::new, |ends| {
        let (low, high) = (factor * ends.low, factor * ends.high);
        format!("{low:.places$} to {high:.places$}")
    })
}

/// A slope as percentage points for one step of the measure: 0.1 kPa, or one degree of the grower's scale.
fn points(tie: &AirTie, slope: f64, degrees: Degrees) -> f64 {
    let step = match tie.measure {
        AirMeasure::Vpd => tie.measure.step(),
        AirMeasure::Medium => tie.measure.step() / degrees.step(1.0),
    };
    100.0 * slope * step
}

/// What is decided, a sentence each; then what is not, in one.
fn sentences(air: &AirTies, degrees: Degrees) -> Vec<String> {
    let mut out = Vec::new();
    let mut open: Vec<String> = Vec::new();
    for tie in &air.ties {
        let name = format!("{} against {}", tie.outcome.word(), measure(tie.measure));
        let (TieVerdict::More | TieVerdict::Less, Some(it)) = (tie.verdict, tie.figures) else {
            open.push(name);
            continue;
        };
        let (higher, step) = match tie.measure {
            AirMeasure::Vpd => ("Drier air", "0.1 kPa of VPD".to_owned()),
            AirMeasure::Medium => ("A warmer medium", format!("1 {}", degrees.sign())),
        };
        let more = if tie.verdict == TieVerdict::More {
            "more"
        } else {
            "less"
        };
        let what = match tie.outcome {
            FateMeasure::Strike => "rooted",
            FateMeasure::Lost => "lost in all",
            FateMeasure::To(cause) => cause.word(),
        };
        let factor = points(tie, 1.0, degrees);
        let ends = it.slope_interval.map_or_else(String::new, |ends| {
            format!(" ({:+.1} to {:+.1})", factor * ends.low, factor * ends.high)
        });
        out.push(format!(
            "{higher} went with {more} {what}: {:+.1} points{ends} for each {step}.",
            factor * it.slope
        ));
    }
    if !air.ties.iter().any(tells) {
        out.push(
            "Too few places with readings to tell whether drier air or a warmer medium mattered."
                .to_owned(),
        );
    } else if !open.is_empty() {
        out.push(format!("Undecided: {}.", open.join(", ")));
    }
    out
}

fn clock(it: &ClockComparison, degrees: Degrees) -> String {
    let (Some(days), Some(warm)) = (it.days_error, it.degree_days_error) else {
        return format!(
            "Do days or warmth foretell rooting better? Too few to tell; the medium was not read often enough for {}.",
            many(it.unread as u64, "batch", "batches")
        );
    };
    let verdict = match it.verdict {
        clocks::ClockVerdict::Days => "the calendar foretells better",
        clocks::ClockVerdict::DegreeDays => "degree-days foretell better",
        clocks::ClockVerdict::Undecided => "undecided",
        clocks::ClockVerdict::TooFew => "too few to tell",
    };
    let by = it.difference.map_or_else(String::new, |difference| {
        let ends = range(difference.interval, 1.0, 1);
        let ends = if ends.is_empty() {
            ends
        } else {
            format!(", {ends}")
        };
        format!(
            " (difference {:.1} days{ends}; p {:.4})",
            difference.mean, difference.p
        )
    });
    format!(
        "Do days or warmth foretell rooting better? Each of {} was foretold from the others of its kind: by the calendar {days:.1} days off on average, by degree-days of the medium {warm:.1} (above the taxon's base, else {}): {verdict}{by}.",
        many(it.replicates as u64, "batch", "batches"),
        degrees.in_words(USUAL_BASE_C)
    )
}

fn ends(interval: Option<Interval>) -> Option<(f64, f64)> {
    interval.map(|ends| (ends.low, ends.high))
}

fn group_answer(group: &TaxonFigures) -> GroupAnswer {
    let clock = &group.clock;
    GroupAnswer {
        taxon: group.taxon.clone(),
        places: group.air.places,
        open: group.air.open,
        unread: group.air.unread,
        skipped: group.air.skipped,
        ties: group.air.ties.iter().map(tie_answer).collect(),
        clock: ClockAnswer {
            milestone: Milestone::Root.word(),
            verdict: clock.verdict.word(),
            replicates: clock.replicates,
            kinds: clock.kinds,
            unread: clock.unread,
            days_error: clock.days_error,
            degree_days_error: clock.degree_days_error,
            difference: clock.difference.map(|d| d.mean),
            difference_range: ends(clock.difference.and_then(|d| d.interval)),
            p: clock.difference.map(|d| d.p),
            smallest_p: clock.difference.map(|d| d.smallest_p),
        },
    }
}

fn tie_answer(tie: &AirTie) -> TieAnswer {
    let it = tie.figures;
    TieAnswer {
        against: tie.measure.word(),
        share: tie.outcome.word(),
        verdict: tie.verdict.word(),
        r: it.map(|f| f.rho),
        r_range: ends(it.and_then(|f| f.rho_interval)),
        slope: it.map(|f| f.slope),
        slope_range: ends(it.and_then(|f| f.slope_interval)),
        p: it.map(|f| f.p),
        p_corrected: it.map(|_| tie.holm),
        smallest_p: it.map(|f| f.smallest_p),
        places: it.map(|f| f.pairs),
        strata: it.map(|f| f.strata),
    }
}
