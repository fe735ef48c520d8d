//! `publish DEST --as NAME`: this journal's figures for a pool of many nurseries, without what is personal.

use super::context::Context;
use super::output::{self, Exit};
use crate::app::failure::Failure;
use crate::app::pooling;
use crate::handover::published::{PublishOptions, PublishedExtras, published};
use crate::text::clean::shown;
use crate::text::figures::many;
use crate::text::table::{Column, table};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Arguments of `publish`.
#[derive(Args, Debug)]
#[command(
    after_help = "Writes DEST/nursery=NAME/season=YEAR/part-HASH.jsonl, a row for each batch and one for each of its milestones and intervals, and \
manifest.json, which says what was left out. No people, notes, places, codes, targets or exact days of sticking stand in it unless --with \
asks for them. Published anew it replaces what this journal published under the name before; to leave the pool, delete the folder.\n\n\
Examples:\n  \
struck publish /mnt/society --as ashfield\n  \
struck pool /mnt/society timeline weigela"
)]
pub struct PublishArguments {
    /// The folder of the pool
    #[arg(value_name = "DEST")]
    pool: PathBuf,
    /// The nursery's name in the pool: letters, figures, - and _
    #[arg(long = "as", value_name = "NAME")]
    name: String,
    /// Publish these too
    #[arg(long, value_name = "WHAT[,WHAT]", value_delimiter = ',')]
    with: Vec<PublishedExtra>,
}

/// What is published only if asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum PublishedExtra {
    /// The exact day of sticking
    Days,
    /// Names of places
    Places,
    /// Notes made at sticking
    Notes,
    /// Who stuck it
    People,
}

/// Longest name of a nursery, in characters.
const LONGEST_NAME: usize = 64;

/// Runs it.
pub fn run(context: &Context, arguments: &PublishArguments) -> Result<Exit, Failure> {
    let is_fit = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let name = &arguments.name;
    if name.is_empty() || name.len() > LONGEST_NAME || !name.chars().all(is_fit) {
        return Err(Failure::usage(format!(
            "'{}' cannot be a nursery's name in a pool.",
            shown(name)
        ))
        .hint("Take letters a to z, figures, - and _: `--as ashfield-nursery`."));
    }
    let desk = context.open()?;
    let is_whole = context.basis.missing().as_ref().is_none_or(Vec::is_empty);
    if !is_whole {
        return Err(Failure::could(
            "A part of the journal could not be read, so nothing was published.",
        )
        .hint("Publish when all of it can be read."));
    }
    let with = |extra| arguments.with.contains(&extra);
    let options = PublishOptions {
        nursery: name.clone(),
        extras: PublishedExtras {
            days: with(PublishedExtra::Days),
            places: with(PublishedExtra::Places),
            notes: with(PublishedExtra::Notes),
            people: with(PublishedExtra::People),
        },
        version: env!("CARGO_PKG_VERSION"),
        today: desk.clock().now().date_naive(),
    };
    let made = published(desk.book(), &options)
        .map_err(|why| Failure::could(format!("The rows could not be put together ({why}).")))?;
    if made.parts.is_empty() {
        return Err(Failure::could(
            "There is nothing to publish: no batch was looked at yet.",
        ));
    }
    let folder = pooling::publish(&arguments.pool, name, &made)?;
    let columns = ["season", "batches", "intervals", "rows"].map(Column::number);
    let rows: Vec<Vec<String>> = made
        .parts
        .iter()
        .map(|part| {
            let figures = [part.batches, part.intervals, part.rows];
            let figures = figures.iter().map(ToString::to_string);
            std::iter::once(part.season.to_string())
                .chain(figures)
                .collect()
        })
        .collect();
    let mut text = table(&columns, &rows, context.environment.width, context.charset);
    let left: Vec<String> = made
        .left_out
        .iter()
        .map(|(reason, count)| format!("{} ({reason})", many(*count as u64, "batch", "batches")))
        .collect();
    if !left.is_empty() {
        text.push_str(&context.lines(&format!("Left out: {}.", left.join(", "))));
    }
    if let Err(exit) = context.print_text(&text) {
        return Ok(exit);
    }
    output::say(&context.lines(&format!(
        "Published to {}; {} says what was left out.",
        shown(&folder.to_string_lossy()),
        crate::handover::published::MANIFEST
    )));
    Ok(Exit::Done)
}
