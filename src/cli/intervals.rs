//! `intervals`: what the looks say as weighted intervals, so that any statistics package can take over.

use super::context::Context;
use super::exit::Exit;
use super::filters::Filters;
use super::{json, output};
use crate::book::export::{Row, rows};
use crate::book::meant::Question;
use crate::desk::failure::Failure;
use crate::words::clean::spreadsheet_safe;
use clap::Args;
use serde_json::{Value, json};

/// Arguments of `intervals`.
#[derive(Args, Debug)]
pub struct Arguments {
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

const COLUMNS: [&str; 14] = [
    "batch", "stick", "taxon", "wood", "season", "place", "trial", "arm", "replicate", "milestone", "left", "right",
    "weight", "status",
];

/// Runs it.
pub fn run(context: &Context, arguments: &Arguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let desk = context.open()?;
    let rows = rows(desk.book(), &Question { filter, again: arguments.again, as_of: None });
    let told = if arguments.json {
        let rows: Vec<Value> = rows.iter().map(object).collect();
        json::write(&json!({ "intervals": rows }))
    } else {
        output::data(&csv(&rows)?)
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

fn csv(rows: &[Row]) -> Result<String, Failure> {
    let failed = |error: csv::Error| Failure::could(format!("The intervals could not be put into CSV ({error})."));
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(COLUMNS).map_err(failed)?;
    for row in rows {
        writer.write_record(cells(row)).map_err(failed)?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(error.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn cells(row: &Row) -> [String; 14] {
    let text = |value: &Option<String>| spreadsheet_safe(value.as_deref().unwrap_or_default());
    [
        spreadsheet_safe(&row.batch),
        row.stick.to_string(),
        spreadsheet_safe(&row.taxon),
        text(&row.wood),
        row.season.to_string(),
        text(&row.place),
        text(&row.trial),
        text(&row.arm),
        row.replicate.to_string(),
        row.milestone.word().into(),
        row.left.to_string(),
        row.right.map_or_else(String::new, |right| right.to_string()),
        json::number(row.weight).to_string(),
        row.status.word().into(),
    ]
}

fn object(row: &Row) -> Value {
    json!({
        "batch": row.batch, "stick": row.stick.to_string(), "taxon": row.taxon, "wood": row.wood,
        "season": row.season, "place": row.place, "trial": row.trial, "arm": row.arm,
        "replicate": row.replicate.to_string(), "milestone": row.milestone.word(), "left": row.left,
        "right": row.right, "weight": json::number(row.weight), "status": row.status.word(),
    })
}
