//! `pool timeline` and `pool curve`: the figures of `timeline` over all nurseries, from folders or from aggregates.

use super::sources::{Filling, read_folders, read_input};
use super::told::{Beside, Form, PoolRemarks};
use crate::analysis::pool::{
    PUBLISHED_KEYS, PoolOptions, PooledTimeline, UncountedPart, pooled_timeline,
};
use crate::analysis::timeline::{TimelineGroup, TimelineOptions};
use crate::app::failure::Failure;
use crate::app::pooling::PoolReading;
use crate::cli::context::Context;
use crate::cli::csv_writer::csv_of_json;
use crate::cli::filters::{group_keys, wood};
use crate::cli::output::{Exit, Progress};
use crate::cli::timeline::{RangeArguments, csv_columns, group_table, one_group};
use crate::model::filter::GroupKey;
use crate::text::choice::NO_BATCH;
use crate::text::figures::many;
use crate::text::table::Column;
use clap::Args;
use std::path::PathBuf;

/// The arguments of `pool timeline` and `pool curve`.
#[derive(Args, Debug)]
pub struct PoolTimelineArguments {
    /// Only this taxon, genus, or part of a name
    #[arg(value_name = "TAXON")]
    of: Vec<String>,
    /// Only this wood stage
    #[arg(long, value_name = "STAGE")]
    wood: Option<String>,
    /// Only batches stuck in this season
    #[arg(long, value_name = "YEAR")]
    season: Option<i32>,
    /// Group by these as well: wood, season, week, cover, hormone, medium, cut, piece
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    by: String,
    #[command(flatten)]
    ranges: RangeArguments,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Keys as typed, of those that published rows have.
pub fn published_keys(text: &str) -> Result<Vec<GroupKey>, Failure> {
    let mut keys = group_keys(text)?;
    keys.retain(|key| *key != GroupKey::Taxon);
    let lacking = keys.iter().find(|key| !PUBLISHED_KEYS.contains(key));
    if let Some(key) = lacking {
        let words = PUBLISHED_KEYS.map(GroupKey::word);
        return Err(Failure::usage(format!(
            "Published rows do not say '{}', so a pool cannot be grouped by it.",
            key.word()
        ))
        .hint(format!("Say {}.", words.join(", "))));
    }
    Ok(keys)
}

/// A taxon as typed, if one was.
pub fn asked_taxon(words: &[String]) -> Option<String> {
    (!words.is_empty()).then(|| words.join(" "))
}

fn options(arguments: &PoolTimelineArguments) -> Result<PoolOptions, Failure> {
    Ok(PoolOptions {
        taxon: asked_taxon(&arguments.of),
        wood: arguments.wood.as_deref().map(wood).transpose()?,
        season: arguments.season,
        by: published_keys(&arguments.by)?,
        figures: TimelineOptions {
            resamples: arguments.ranges.resamples,
            seed: arguments.ranges.seed,
            ..TimelineOptions::default()
        },
    })
}

/// Runs `pool timeline`.
pub fn run(
    context: &Context,
    sources: &[PathBuf],
    arguments: &PoolTimelineArguments,
) -> Result<Exit, Failure> {
    let options = options(arguments)?;
    let mut filling = Filling::new(options.stored_keys());
    let reading = read_folders(context, sources, &mut filling)?;
    answer(context, arguments, &options, filling, &reading)
}

/// Runs `pool curve`.
pub fn curve(context: &Context, arguments: &PoolTimelineArguments) -> Result<Exit, Failure> {
    let options = options(arguments)?;
    let mut filling = Filling::new(options.stored_keys());
    let mut reading = PoolReading::default();
    read_input(&mut reading, &mut filling)?;
    answer(context, arguments, &options, filling, &reading)
}

fn answer(
    context: &Context,
    arguments: &PoolTimelineArguments,
    options: &PoolOptions,
    filling: Filling,
    reading: &PoolReading,
) -> Result<Exit, Failure> {
    filling.check_keys()?;
    let remarks = PoolRemarks::new(reading, Some(&filling.pool));
    let mut progress = Progress::new(context.environment.watched, "working out");
    let short: Vec<UncountedPart> = reading.collector.uncounted();
    let found = pooled_timeline(filling.pool, short, options, &mut |done, whole| {
        progress.at(done as u64, whole as u64);
        true
    });
    progress.end();
    let Some(timeline) = found else {
        return Ok(Exit::Could);
    };
    let csv = || {
        let mut columns = csv_columns(&options.by);
        columns.insert(1 + options.by.len(), "nurseries".to_owned());
        csv_of_json(&columns, &timeline.groups)
    };
    let names = (&timeline.synonyms[..], &timeline.conflicts[..]);
    Beside::new(remarks, reading, &timeline.uncounted, names).print(
        context,
        Form::asked(arguments.csv, arguments.json),
        &timeline,
        csv,
        || text(context, &timeline, &options.by),
    )
}

fn text(context: &Context, timeline: &PooledTimeline, by: &[GroupKey]) -> String {
    let sums = &timeline.sums;
    let head = format!(
        "{}, {} in all.",
        many(sums.nurseries as u64, "nursery", "nurseries"),
        many(sums.parts as u64, "season", "seasons")
    );
    let mut out = context.lines(&head);
    let groups: Vec<&TimelineGroup> = timeline.groups.iter().map(|it| &it.figures).collect();
    if groups.is_empty() {
        out.push_str(&format!("{NO_BATCH}\n"));
        return out;
    }
    let nurseries = timeline.groups.iter().map(|it| it.nurseries.to_string());
    let beside = (Column::number("nurseries").dropping(2), nurseries.collect());
    out.push('\n');
    out.push_str(&group_table(context, &groups, by, Some(beside)));
    if timeline.nursery_correlations.is_some() {
        out.push_str(
            &context.lines("The ranges allow for how nurseries differ, and batches within them."),
        );
    }
    if let [group] = groups.as_slice() {
        out.push_str(&one_group(context, group));
    }
    out
}
