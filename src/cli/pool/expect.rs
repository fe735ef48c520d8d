//! `pool expect`: what to expect of the next batch, from all nurseries.

use super::sources::{Filling, read_folders};
use super::timeline::{asked_taxon, published_keys};
use super::told::{Beside, Form, PoolRemarks};
use crate::analysis::pool::{PoolOptions, PooledExpectations, pooled_expectations};
use crate::analysis::timeline::{Figure, TimelineOptions};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::csv_writer::csv_of_json;
use crate::cli::filters::wood;
use crate::cli::output::{Exit, Progress};
use crate::cli::timeline::{key_cells, key_columns, key_paths};
use crate::model::filter::GroupKey;
use crate::text::choice::NO_BATCH;
use crate::text::clean::shown;
use crate::text::figures::percent;
use crate::text::table::{Column, table};
use crate::text::timelines;
use clap::Args;
use std::path::PathBuf;

/// The arguments of `pool expect`.
#[derive(Args, Debug)]
pub struct PoolExpectArguments {
    /// Only this taxon, genus, or part of a name
    #[arg(value_name = "TAXON")]
    of: Vec<String>,
    /// Only this wood stage
    #[arg(long, value_name = "STAGE")]
    wood: Option<String>,
    /// Group by these as well: wood, season, week, cover, hormone, medium, cut, piece
    #[arg(long, value_name = "KEY[,KEY]", default_value = "wood")]
    by: String,
    /// Cuttings in the next batch
    #[arg(long, value_name = "N", default_value_t = 48, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    cuttings: u32,
    /// At this nursery, not at one like those of the pool
    #[arg(long, value_name = "NAME")]
    nursery: Option<String>,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(
    context: &Context,
    sources: &[PathBuf],
    arguments: &PoolExpectArguments,
) -> Result<Exit, Failure> {
    let options = PoolOptions {
        taxon: asked_taxon(&arguments.of),
        wood: arguments.wood.as_deref().map(wood).transpose()?,
        season: None,
        by: published_keys(&arguments.by)?,
        // Days are told as seen, without ranges of their own.
        figures: TimelineOptions {
            resamples: 0,
            ..TimelineOptions::default()
        },
    };
    let mut filling = Filling::new(options.stored_keys());
    let reading = read_folders(context, sources, &mut filling)?;
    filling.check_keys()?;
    let remarks = PoolRemarks::new(&reading, Some(&filling.pool));
    let mut progress = Progress::new(context.environment.watched, "working out");
    let asked = (arguments.cuttings, arguments.nursery.as_deref());
    let short = reading.collector.uncounted();
    let found = pooled_expectations(filling.pool, short, &options, asked, &mut |done, whole| {
        progress.at(done as u64, whole as u64);
        true
    });
    progress.end();
    let Some(answer) = found else {
        return Ok(Exit::Could);
    };
    let names = (&answer.synonyms[..], &answer.conflicts[..]);
    Beside::new(remarks, &reading, &answer.uncounted, names).print(
        context,
        Form::asked(arguments.csv, arguments.json),
        &answer,
        || csv_of_json(&columns(&options.by), &answer.expectations),
        || text(context, &answer, &options.by),
    )
}

fn columns(by: &[GroupKey]) -> Vec<String> {
    let mut columns = key_paths(by);
    let rest = [
        "nurseries",
        "batches",
        "own",
        "next.share as share",
        "next.missing as share_missing",
        "next.p50.0 as p50_low",
        "next.p50.1 as p50_high",
        "next.p80.0 as p80_low",
        "next.p80.1 as p80_high",
        "days.p10.by as p10_by",
        "days.p50.by as p50_by",
        "days.p90.by as p90_by",
    ];
    columns.extend(rest.map(String::from));
    columns
}

fn text(context: &Context, answer: &PooledExpectations, by: &[GroupKey]) -> String {
    if answer.expectations.is_empty() {
        return format!("{NO_BATCH}\n");
    }
    let mut columns = key_columns(by);
    columns.extend([
        Column::number("nurseries").dropping(2),
        Column::number("batches").dropping(1),
        Column::number("rooted %"),
        Column::number(&format!("rooted of {}", answer.cuttings)),
        Column::number("by day").dropping(3),
    ]);
    let rows: Vec<Vec<String>> = answer
        .expectations
        .iter()
        .map(|it| {
            let mut row = key_cells(context, &it.taxon, &it.by);
            let (share, count) = match &it.next {
                Figure::Value(next) => (
                    percent(next.share),
                    format!("{} to {}", next.p80[0], next.p80[1]),
                ),
                Figure::Missing(_) => ("too soon".to_owned(), String::new()),
            };
            let days: Vec<String> = it
                .days
                .named()
                .map(|(_, day)| timelines::day(day))
                .collect();
            row.extend([
                it.nurseries.to_string(),
                it.batches.to_string(),
                share,
                count,
            ]);
            row.push(days.join(" "));
            row
        })
        .collect();
    let mut out = table(&columns, &rows, context.environment.width, context.charset);
    out.push('\n');
    let whose = match &answer.nursery {
        Some(name) => format!("at nursery {}", shown(name)),
        None => "at a nursery like these".to_owned(),
    };
    out.push_str(&context.lines(&format!(
        "Of the next batch of {} {whose}: so many root in four of five such batches. Under by day: when 10, 50 and 90 % of those that root have, as seen.",
        answer.cuttings
    )));
    out
}
