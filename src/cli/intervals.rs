//! `intervals`: what the looks say as weighted intervals, so that any statistics package can take over.

use super::context::Context;
use super::csv_writer::{CsvCell, csv_of_cells};
use super::filters;
use super::filters::Filters;
use super::output::Exit;
use crate::app::failure::Failure;
use crate::fold::interval_rows::{IntervalRow, interval_rows};
use crate::fold::selection::Selection;
use clap::Args;

/// The arguments of `intervals`.
#[derive(Args, Debug)]
pub struct IntervalsArguments {
    #[command(flatten)]
    filters: Filters,
    /// Count failed cuttings that were stuck again too
    #[arg(long)]
    again: bool,
    /// As CSV (the default)
    #[arg(long)]
    csv: bool,
    /// As JSON
    #[arg(long, conflicts_with = "csv")]
    json: bool,
}

/// Columns of text, which a spreadsheet might take for a formula and a terminal for an order.
const TEXT: [usize; 8] = [0, 1, 2, 3, 5, 6, 7, 8];

/// Runs the command.
pub fn run(context: &Context, arguments: &IntervalsArguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let desk = context.open()?;
    filters::check_names(desk.book(), &filter)?;
    let question = Selection {
        filter,
        again: arguments.again,
        as_of: None,
    };
    let answer = interval_rows(desk.book(), &question);
    let written = if arguments.json {
        context.print_json(&answer)
    } else {
        context.print_csv(&csv(&answer.rows)?)
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

fn csv(rows: &[IntervalRow<'_>]) -> Result<String, Failure> {
    let cells = |row: &IntervalRow<'_>| {
        let each = row.cells().into_iter().enumerate();
        each.map(|(column, text)| match TEXT.contains(&column) {
            true => CsvCell::text(text),
            false => CsvCell::plain(text),
        })
        .collect()
    };
    csv_of_cells(&IntervalRow::HEADINGS, rows.iter().map(cells))
}
