//! `export DIR`: the journal as a data package of plain tables.

use super::context::Context;
use super::output::{self, Exit};
use crate::app::exports::put_package;
use crate::app::failure::Failure;
use crate::handover::package::{PackageOptions, data_package};
use crate::text::clean::shown;
use crate::text::table::{Column, table};
use clap::Args;
use std::path::PathBuf;

/// Arguments of `export`.
#[derive(Args, Debug)]
#[command(
    after_help = "The folder becomes a data package (Frictionless Data Package, version 2): CSV tables, datapackage.json with types, units and keys, \
dictionary.md, and a README.md on reading it in R, pandas, DuckDB or a spreadsheet. An earlier export in the same folder is replaced whole. \
Names of people stand in it, and no licence: both are yours to decide before you hand it on.\n\n\
Examples:\n  \
struck export figures\n  \
struck export figures --spreadsheet-safe"
)]
pub struct ExportArguments {
    /// The folder, which must not be there yet, or hold an earlier export alone
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Mark text that a spreadsheet would run as a formula
    #[arg(long)]
    spreadsheet_safe: bool,
    /// Resamples for the ranges of days; 0 leaves them out
    #[arg(long, value_name = "N", default_value_t = 999)]
    resamples: usize,
    /// Seed of the resampling
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

/// Runs it.
pub fn run(context: &Context, arguments: &ExportArguments) -> Result<Exit, Failure> {
    let desk = context.open()?;
    let now = desk.clock().now();
    let options = PackageOptions {
        today: now.date_naive(),
        made_at: now,
        spreadsheet_safe: arguments.spreadsheet_safe,
        resamples: arguments.resamples,
        seed: arguments.seed,
    };
    let package = data_package(desk.book(), &options)
        .map_err(|why| Failure::could(format!("The tables could not be put together ({why}).")))?;
    put_package(&arguments.folder, &package.files)?;
    let columns = [Column::text("table"), Column::number("rows")];
    let rows: Vec<Vec<String>> = package
        .rows
        .iter()
        .map(|(name, rows)| vec![name.clone(), rows.to_string()])
        .collect();
    let text = table(&columns, &rows, context.environment.width, context.charset);
    if let Err(exit) = context.print_text(&text) {
        return Ok(exit);
    }
    output::say(&context.lines(&format!(
        "Written to {}, with datapackage.json, dictionary.md and README.md.",
        shown(&arguments.folder.to_string_lossy())
    )));
    Ok(Exit::Done)
}
