//! `print looks`, `print sticking` and `print calendar`.

use super::page::{Destination, PaperName, give, meant};
use crate::analysis::due::due_on;
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::filters::Filters;
use crate::cli::output::Exit;
use crate::handover::calendar::{CalendarOptions, calendar_file};
use crate::handover::print::looks::{looks_page, sticking_page};
use crate::text::choice::NO_OPEN_BATCH;
use crate::text::dates::Calendar;
use chrono::NaiveTime;
use clap::Args;

/// Arguments of `print looks`.
#[derive(Args, Debug)]
pub struct LooksArguments {
    #[command(flatten)]
    filters: Filters,
    /// The paper
    #[arg(long, value_enum, ignore_case = true, default_value_t)]
    paper: PaperName,
    #[command(flatten)]
    destination: Destination,
}

/// Arguments of `print sticking`.
#[derive(Args, Debug)]
pub struct StickingArguments {
    /// Rows to fill
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = clap::value_parser!(u32).range(1..=200))]
    rows: u32,
    /// The paper
    #[arg(long, value_enum, ignore_case = true, default_value_t)]
    paper: PaperName,
    #[command(flatten)]
    destination: Destination,
}

/// Arguments of `print calendar`.
#[derive(Args, Debug)]
pub struct CalendarArguments {
    /// An alarm at this time on each day
    #[arg(long, value_name = "HH:MM")]
    alarm: Option<String>,
    #[command(flatten)]
    destination: Destination,
}

/// Runs `print looks`.
pub fn looks(context: &Context, arguments: &LooksArguments) -> Result<Exit, Failure> {
    let desk = context.open()?;
    let today = desk.clock().now().date_naive();
    let mut batches = meant(context, desk.book(), &arguments.filters)?;
    batches.retain(|batch| batch.is_open());
    if batches.is_empty() {
        return Err(Failure::could(NO_OPEN_BATCH));
    }
    let due = due_on(desk.book(), today);
    let words = Calendar::for_book(desk.book(), today);
    let page = looks_page(&batches, &due, words, arguments.paper.into());
    give(context, &page, &arguments.destination)
}

/// Runs `print sticking`.
pub fn sticking(context: &Context, arguments: &StickingArguments) -> Result<Exit, Failure> {
    let page = sticking_page(arguments.rows, arguments.paper.into());
    give(context, &page, &arguments.destination)
}

/// Runs `print calendar`.
pub fn calendar(context: &Context, arguments: &CalendarArguments) -> Result<Exit, Failure> {
    let alarm = arguments.alarm.as_deref().map(|text| {
        NaiveTime::parse_from_str(text.trim(), "%H:%M")
            .map_err(|_| Failure::usage("--alarm is a time of day, as 07:30."))
    });
    let alarm = alarm.transpose()?;
    let desk = context.open()?;
    let now = desk.clock().now();
    let today = now.date_naive();
    let options = CalendarOptions {
        made_at: now,
        alarm,
    };
    let due = due_on(desk.book(), today);
    let words = Calendar::for_book(desk.book(), today);
    let file = calendar_file(desk.book(), &due, words, &options);
    give(context, &file, &arguments.destination)
}
