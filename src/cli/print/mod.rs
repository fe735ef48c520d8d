//! `print`: labels, lists, reports and a calendar. Each goes to standard output, or into a file.

mod labels;
mod page;
mod reports;
mod sheets;

use super::context::Context;
use super::output::Exit;
use crate::app::failure::Failure;
use clap::{Args, Subcommand};

/// Arguments of `print`.
#[derive(Args, Debug)]
#[command(
    after_help = "Pages are single HTML files without script or outside address: open one in a browser and print it, or send it.\n\n\
Examples:\n  \
struck print labels --open --to labels.html\n  \
struck print labels 26-001 26-002 --size 60x30mm --to labels.html\n  \
struck print looks --place \"mist bench\" --to looks.html\n  \
struck print season 2025 --to season.html\n  \
struck print calendar --alarm 07:30 --to looks.ics"
)]
pub struct PrintArguments {
    #[command(subcommand)]
    what: Printed,
}

#[derive(Subcommand, Debug)]
enum Printed {
    /// Labels for trays, on sheets or one a page, each with its code as a QR symbol
    Labels(labels::LabelsArguments),
    /// The open batches in walking order, with boxes to fill by hand
    Looks(sheets::LooksArguments),
    /// A blank sheet for sticking
    Sticking(sheets::StickingArguments),
    /// A season: its targets, what came of each plant, curves, what failed and its air
    Season(reports::SeasonPageArguments),
    /// One plant: its curves by wood stage and season, its figures, its batches
    Taxon(reports::TaxonPageArguments),
    /// Looks, pottings, decisions and targets as a calendar file (RFC 5545)
    Calendar(sheets::CalendarArguments),
}

/// Runs it.
pub fn run(context: &Context, arguments: &PrintArguments) -> Result<Exit, Failure> {
    match &arguments.what {
        Printed::Labels(arguments) => labels::run(context, arguments),
        Printed::Looks(arguments) => sheets::looks(context, arguments),
        Printed::Sticking(arguments) => sheets::sticking(context, arguments),
        Printed::Season(arguments) => reports::season(context, arguments),
        Printed::Taxon(arguments) => reports::taxon(context, arguments),
        Printed::Calendar(arguments) => sheets::calendar(context, arguments),
    }
}
