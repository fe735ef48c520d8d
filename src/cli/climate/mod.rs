//! `climate`: the air of the places. Alone it shows the days; its subcommands do the rest.

mod days;
mod import;
mod lived;
mod matters;

use super::context::Context;
use super::output::Exit;
use crate::app::failure::Failure;
use clap::{Args, Subcommand};

/// The arguments of `climate`.
#[derive(Args, Debug)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Examples:\n  \
struck climate mist bench --since 1 Jun\n  \
struck climate batch 26-041\n  \
struck climate matters --taxon weigela\n  \
struck climate import logger.csv --place \"mist bench\"\n\n\
A place whose name is a subcommand's is asked for behind two dashes: struck climate -- import"
)]
pub struct ClimateArguments {
    #[command(subcommand)]
    what: Option<What>,
    #[command(flatten)]
    days: days::ClimateDaysArguments,
}

#[derive(Subcommand, Debug)]
enum What {
    /// The air that a batch lived in
    Batch(lived::LivedArguments),
    /// Whether the air went with rooting and losses, and whether days or warmth foretell rooting
    Matters(matters::MattersArguments),
    /// Take in a logger's file, or the lines of a sensor
    Import(import::ClimateImportArguments),
}

/// Runs the command.
pub fn run(context: &Context, arguments: &ClimateArguments) -> Result<Exit, Failure> {
    match &arguments.what {
        Some(What::Batch(arguments)) => lived::run(context, arguments),
        Some(What::Matters(arguments)) => matters::run(context, arguments),
        Some(What::Import(arguments)) => import::run(context, arguments),
        None => days::run(context, &arguments.days),
    }
}
