//! `intervals`: what the looks say as weighted intervals, so that any statistics package can take over.

use super::context::Context;
use super::filters;
use super::filters::Filters;
use super::output::Exit;
use crate::app::failure::Failure;
use crate::fold::interval_rows::{IntervalRow, interval_rows};
use crate::fold::selection::Selection;
use crate::text::clean::shown;
use crate::text::clean::spreadsheet_safe;
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
    let failed = |error: csv::Error| {
        Failure::could(format!(
            "The intervals could not be put into CSV ({error})."
        ))
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(IntervalRow::HEADINGS).map_err(failed)?;
    for row in rows {
        let mut cells = row.cells();
        for column in TEXT {
            cells[column] = spreadsheet_safe(&shown(&cells[column]));
        }
        writer.write_record(cells).map_err(failed)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| failed(error.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
