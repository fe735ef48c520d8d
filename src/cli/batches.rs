//! `batches`: the batches that are meant, a line each, with their strips.

use super::context::Context;
use super::exit::Exit;
use super::filters::Filters;
use super::{json, named, output};
use crate::app::failure::Failure;
use crate::fold::batch::{Batch, BatchCounts};
use crate::text::clean::shown_in;
use crate::text::strip::{strip, tally};
use crate::text::table::{Column, table};
use chrono::NaiveDate;
use clap::Args;
use serde_json::{Map, Value, json};

/// Widest strip in a table.
const STRIP: usize = 28;

/// Arguments of `batches`.
#[derive(Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    filters: Filters,
    /// Only those with cuttings on the bench
    #[arg(long)]
    open: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(context: &Context, arguments: &Arguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let desk = context.open()?;
    let book = desk.book();
    named::check(book, &filter)?;
    let meant = book
        .batches()
        .iter()
        .filter(|batch| filter.admits(book, batch));
    let batches: Vec<&Batch> = meant
        .map(AsRef::as_ref)
        .filter(|batch| !arguments.open || batch.is_open())
        .collect();
    let told = if arguments.json {
        let each: Vec<Value> = batches.iter().map(|batch| object(batch)).collect();
        json::write(&json!({ "batches": each }))
    } else {
        output::data(&text(context, &batches, desk.clock().now().date_naive()))
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

fn text(context: &Context, batches: &[&Batch], today: NaiveDate) -> String {
    if batches.is_empty() {
        return "No batch is meant.\n".into();
    }
    let columns = [
        Column::text("code").at_least(7),
        Column::text("taxon").at_least(12),
        Column::text("wood").at_least(9).dropping(4),
        Column::number("stuck on").dropping(3),
        Column::number("day"),
        Column::text("cuttings").at_least(10).dropping(1),
        Column::number("stuck"),
        Column::number("left"),
        Column::number("potted").dropping(2),
        Column::text("place").at_least(8).dropping(5),
    ];
    let rows: Vec<Vec<String>> = batches
        .iter()
        .map(|batch| row(context, batch, today))
        .collect();
    table(&columns, &rows, context.environment.width, context.charset)
}

fn row(context: &Context, batch: &Batch, today: NaiveDate) -> Vec<String> {
    // A closed batch's clock stands still at its last entry.
    let until = if batch.is_open() {
        today.max(batch.last_day())
    } else {
        batch.last_day()
    };
    let shown = |text: &str| shown_in(text, context.charset);
    vec![
        shown(&batch.code),
        shown(&batch.taxon.shown()),
        batch
            .stick
            .wood
            .map_or_else(String::new, |wood| wood.word().into()),
        batch.stuck_on.to_string(),
        (until - batch.stuck_on).num_days().to_string(),
        strip(tally(&batch.counts), STRIP).text(context.charset),
        batch.counts.stuck.to_string(),
        batch.counts.remain().to_string(),
        batch.counts.potted.to_string(),
        batch.place.as_deref().map_or_else(String::new, shown),
    ]
}

/// A batch as JSON.
pub fn object(batch: &Batch) -> Value {
    json!({
        "batch": batch.code, "stick": batch.key.to_string(), "parent": batch.parent.as_ref().map(ToString::to_string),
        "taxon": batch.taxon.shown(), "wood": batch.stick.wood.map(|wood| wood.word()),
        "stuck_on": batch.stuck_on.to_string(), "place": batch.place, "cover": batch.cover.map(|cover| cover.word()),
        "trial": batch.stick.trial, "arm": batch.stick.arm, "open": batch.is_open(),
        "last_entry": batch.last_day().to_string(), "again_on": batch.again_on.map(|day| day.to_string()),
        "counts": counts(&batch.counts),
    })
}

fn counts(counts: &BatchCounts) -> Value {
    let [bare, callused, rooted, bottom] = counts.bench;
    let lost: Map<String, Value> = counts
        .lost
        .each()
        .map(|(cause, n)| (cause.word().to_owned(), Value::from(n)))
        .collect();
    json!({
        "stuck": counts.stuck, "bare": bare, "callused": callused, "rooted": rooted, "bottom": bottom,
        "lost": lost, "given_up": counts.given_up, "potted": counts.potted, "lost_in_pots": counts.lost_in_pots,
        "ready": counts.ready, "sold": counts.sold,
    })
}
