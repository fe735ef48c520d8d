//! `compare`: two or more ways of doing it side by side, and what the journal supports.

use super::context::Context;
use super::csv_writer::csv_of_json;
use super::filters;
use super::filters::{Filters, group_keys};
use super::output::Exit;
use crate::analysis::trials::answer::{Basis, Comparison, Trials};
use crate::analysis::trials::{TrialOptions, compare};
use crate::app::failure::Failure;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::text::comparison;
use crate::text::comparison::Room;
use clap::{Args, ValueEnum};
use serde::Serialize;

/// The arguments of `compare`.
#[derive(Args, Debug)]
pub struct CompareArguments {
    /// What tells the arms apart: wood, cover, place, season, hormone ...; if left out, the arms of the trial
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    by: String,
    /// Compare like with like within these as well as within the taxon
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    within: String,
    #[command(flatten)]
    filters: Filters,
    /// Compare by this day since sticking, not as the batches ended
    #[arg(long, value_name = "DAY", value_parser = clap::value_parser!(u32).range(1..=3650))]
    by_day: Option<u32>,
    /// Only this milestone: root, callus or bottom
    #[arg(long, value_name = "MILESTONE")]
    milestone: Option<String>,
    /// Points of rooted % that would be worth having
    #[arg(long, value_name = "POINTS", default_value_t = 15.0)]
    worth: f64,
    /// Days sooner that would be worth having, of those that rooted
    #[arg(long, value_name = "DAYS", default_value_t = 7.0)]
    worth_days: f64,
    /// Compare seasons whole, not to the same day of the year
    #[arg(long)]
    whole_seasons: bool,
    /// As it stood at the end of this day
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// Count failed cuttings that were stuck again too
    #[arg(long)]
    again: bool,
    /// Seed of the random draws
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// As CSV: the arms, or the pairs of arms with their differences
    #[arg(long, value_name = "TABLE", num_args = 0..=1, require_equals = true, default_missing_value = "arms", conflicts_with = "json")]
    csv: Option<CompareTable>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The tables of a comparison.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum CompareTable {
    /// A row an arm
    Arms,
    /// A row two arms
    Pairs,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &CompareArguments) -> Result<Exit, Failure> {
    let options = options(context, arguments)?;
    let answer = context.work_out("comparing", |book, go_on| {
        filters::check_names(book, &options.about.filter)?;
        Ok(compare(book, &options, go_on))
    })??;
    let Some(answer) = answer else {
        return Ok(Exit::Could);
    };
    let answer = comparison::worded(answer);
    let written = if arguments.json {
        context.print_json(&answer)
    } else if let Some(which) = arguments.csv {
        context.print_csv(&csv(&answer, which)?)
    } else {
        let room = Room {
            columns: context.environment.width,
            charset: context.charset,
        };
        context.print_text(&comparison::text(room, &answer))
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

/// A row of the CSV: an arm or a pair of a comparison.
#[derive(Serialize)]
struct ComparisonRow<'a, T: Serialize> {
    milestone: Milestone,
    basis: &'a Basis,
    of: &'a T,
}

const ARM_COLUMNS: [&str; 19] = [
    "milestone",
    "basis.kind as basis",
    "basis.day",
    "of.name as arm",
    "of.batches as batches",
    "of.replicates as replicates",
    "of.stuck as stuck",
    "of.counted as counted",
    "of.too_young as too_young",
    "of.reached.value as reached_value",
    "of.reached_missing as reached_missing",
    "of.reached.low as reached_low",
    "of.reached.high as reached_high",
    "of.reached.design_effect as reached_design_effect",
    "of.days.value as days_value",
    "of.days_missing as days_missing",
    "of.days.interval.low as days_low",
    "of.days.interval.high as days_high",
    "of.tray_days_each as tray_days_each",
];

/// The columns of the pairs' CSV; `strike` and `days` are alike.
fn pair_columns() -> Vec<String> {
    let head = [
        "milestone",
        "basis.kind as basis",
        "basis.day",
        "of.arms.0 as arm",
        "of.arms.1 as against",
        "of.strata as strata",
        "of.replicates.0 as replicates_arm",
        "of.replicates.1 as replicates_against",
        "of.goes_along as goes_along",
    ];
    let mut columns = head.map(String::from).to_vec();
    let parts = [
        ("difference.value", "difference"),
        ("difference_missing", "difference_missing"),
        ("difference.low", "low"),
        ("difference.high", "high"),
        ("permutation.p", "p"),
        ("permutation.p_holm", "p_holm"),
        ("permutation.arrangements", "arrangements"),
        ("permutation.exact", "exact"),
        ("permutation.smallest_p", "smallest_p"),
        ("verdict.kind", "verdict"),
        ("verdict.text", "verdict_text"),
        ("verdict.batches_needed", "batches_needed"),
        ("verdict.batches_needed_missing", "batches_needed_missing"),
    ];
    for of in ["strike", "days"] {
        columns.extend(parts.map(|(path, name)| format!("of.{of}.{path} as {of}_{name}")));
    }
    columns
}

fn csv(answer: &Trials, which: CompareTable) -> Result<String, Failure> {
    fn rows<'a, T: Serialize>(
        it: &'a Comparison,
        of: &'a [T],
    ) -> impl Iterator<Item = ComparisonRow<'a, T>> {
        of.iter().map(|of| ComparisonRow {
            milestone: it.milestone,
            basis: &it.basis,
            of,
        })
    }
    let all = answer.comparisons.iter();
    match which {
        CompareTable::Arms => csv_of_json(&ARM_COLUMNS, all.flat_map(|it| rows(it, &it.arms))),
        CompareTable::Pairs => csv_of_json(&pair_columns(), all.flat_map(|it| rows(it, &it.pairs))),
    }
}

/// The milestone that a word names.
pub fn milestone(word: &str) -> Result<Milestone, Failure> {
    Milestone::from_word(&word.to_lowercase()).ok_or_else(|| {
        Failure::usage(format!("'{word}' cannot be compared.")).hint("Say root, callus or bottom.")
    })
}

fn options(context: &Context, arguments: &CompareArguments) -> Result<TrialOptions, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let by = group_keys(&arguments.by)?;
    if by.is_empty() && filter.trial.is_none() {
        return Err(Failure::usage("What do you want to compare?")
            .hint("Say --by wood, or another key, or --trial with a trial's name."));
    }
    let as_of = arguments
        .on
        .as_deref()
        .map(|text| context.day(text))
        .transpose()?;
    let plain = TrialOptions::default();
    let milestones = match &arguments.milestone {
        None => plain.milestones,
        Some(word) => vec![milestone(word)?],
    };
    Ok(TrialOptions {
        about: Selection {
            filter,
            again: arguments.again,
            as_of,
        },
        by,
        within: group_keys(&arguments.within)?,
        milestones,
        by_day: arguments.by_day,
        worth_strike: worth("--worth", arguments.worth, 100.0)? / 100.0,
        worth_days: worth("--worth-days", arguments.worth_days, 3650.0)?,
        seed: arguments.seed,
        whole_seasons: arguments.whole_seasons,
        ..TrialOptions::default()
    })
}

/// What is worth having, above 0 and no more than there can be.
pub fn worth(option: &str, value: f64, most: f64) -> Result<f64, Failure> {
    if value > 0.0 && value <= most {
        return Ok(value);
    }
    Err(Failure::usage(format!(
        "{option} is above 0 and at most {most}."
    )))
}
