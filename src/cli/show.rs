//! `show`: one batch, what it is now and its life entry by entry.

use super::context::Context;
use super::output;
use super::output::Exit;
use crate::analysis::batches::BatchSummary;
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::vocabulary::vocabulary_of;
use crate::fold::batch::{Batch, Event};
use crate::fold::roster::RosterRow;
use crate::input::bench_line::{Vocabulary, line_without_when};
use crate::input::fuzzy::nearest;
use crate::input::look_pad::part_words;
use crate::model::fault::FaultKind;
use crate::model::value;
use crate::text::clean::wrap;
use crate::text::clean::{fit, shown, shown_in};
use crate::text::faults::sentence;
use crate::text::strip::{strip, tally};
use chrono::NaiveDate;
use clap::Args;
use serde::Serialize;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// The arguments of `show`.
#[derive(Args, Debug)]
pub struct ShowArguments {
    /// Its code, as 26-041, or 041 for the latest that ends so
    #[arg(value_name = "BATCH")]
    batch: String,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &ShowArguments) -> Result<Exit, Failure> {
    let desk = context.open()?;
    let found = find(&desk, &arguments.batch)?;
    let today = desk.clock().now().date_naive();
    let told = if arguments.json {
        let batches: Vec<BatchLife<'_>> = found.iter().map(|batch| life(batch, today)).collect();
        context.print_json(&BTreeMap::from([("batches", batches)]))
    } else {
        let each: Vec<String> = {
            let known = vocabulary_of(desk.book(), today);
            found
                .iter()
                .map(|batch| text(context, batch, &known))
                .collect()
        };
        context.print_text(&each.join("\n"))
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

/// The batches that bear a code, or the latest whose code ends with what was typed.
pub fn find<'a>(desk: &'a Desk, typed: &str) -> Result<Vec<&'a Batch>, Failure> {
    let book = desk.book();
    let exact: Vec<&Batch> = book.by_code(typed).map(AsRef::as_ref).collect();
    if !exact.is_empty() {
        return Ok(exact);
    }
    let ends = |row: &&RosterRow| {
        row.code
            .split('-')
            .nth(1)
            .is_some_and(|tail| tail.trim_start_matches('0') == typed.trim_start_matches('0'))
    };
    let latest = book.roster().iter().rfind(ends);
    if let Some(latest) = latest.and_then(|row| book.batch(&row.key)) {
        return Ok(vec![latest]);
    }
    let codes: Vec<&str> = book.roster().iter().map(|row| row.code.as_str()).collect();
    let failure = Failure::could(format!("There is no batch {}.", shown(typed)));
    Err(match nearest(typed, &codes) {
        Some(code) => failure.hint(format!("Did you mean {}?", shown(code))),
        None => failure.hint("See the codes with `struck batches`."),
    })
}

fn text(context: &Context, batch: &Batch, known: &Vocabulary) -> String {
    let width = context.environment.width;
    let head = format!("{}  {}", batch.code, batch.taxon.shown());
    let mut out = format!(
        "{}\n",
        fit(&shown_in(&head, context.charset), width, context.charset)
    );
    out.push_str(&format!(
        "{}\n",
        strip(tally(&batch.counts), width.min(72)).text(context.charset)
    ));
    out.push_str(&format!("{}\n", standing(batch)));
    for fault in &batch.faults {
        out.push_str(&format!(
            "! {}\n",
            sentence(&FaultKind::Book(fault.clone()))
        ));
    }
    out.push('\n');
    for event in &batch.events {
        out.push_str(&line(context, event, known));
    }
    out
}

/// Where its cuttings are now, in words.
fn standing(batch: &Batch) -> String {
    let counts = &batch.counts;
    let [bare, callused, rooted, bottom] = counts.bench;
    let parts = [
        (bottom, "with roots at the bottom"),
        (rooted, "rooted"),
        (callused, "callused"),
        (bare, "nothing yet"),
        (counts.potted, "potted"),
        (counts.lost.total(), "lost"),
        (counts.given_up, "given up"),
        (counts.ready, "made saleable"),
        (counts.sold, "sold"),
    ];
    let said: Vec<String> = parts
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, what)| format!("{n} {what}"))
        .collect();
    let by = part_words(batch.partly_seen());
    format!(
        "{} stuck on {}: {}{by}.",
        counts.stuck,
        batch.stuck_on,
        said.join(", ")
    )
}

fn line(context: &Context, event: &Event, known: &Vocabulary) -> String {
    let lead = format!("day {:>3}  {}  ", event.age, event.entry.at.day());
    let amended = if event.amended { " (amended)" } else { "" };
    let entry = event.entry.whole();
    let by = entry
        .by
        .as_deref()
        .map_or_else(String::new, |by| format!(" [{by}]"));
    let said = format!("{}{by}{amended}", line_without_when(&entry, known));
    let room = context.environment.width.saturating_sub(lead.len()).max(20);
    let lines = wrap(&shown_in(&said, context.charset), room, context.charset);
    let indent = " ".repeat(lead.len());
    let mut out = String::new();
    for (at, text) in lines.iter().enumerate() {
        out.push_str(&format!(
            "{}{text}\n",
            if at == 0 { &lead } else { &indent }
        ));
    }
    out
}

/// A batch with its life.
#[derive(Serialize)]
struct BatchLife<'a> {
    #[serde(flatten)]
    summary: BatchSummary<'a>,
    entries: Vec<LifeEntry>,
    faults: Vec<String>,
}

/// An entry of a batch's life.
#[derive(Serialize)]
struct LifeEntry {
    age: u32,
    amended: bool,
    /// The journal's fields as they stand now.
    entry: Map<String, Value>,
}

fn life(batch: &Batch, today: NaiveDate) -> BatchLife<'_> {
    let entry = |event: &Event| LifeEntry {
        age: event.age,
        amended: event.amended,
        entry: event
            .entry
            .whole()
            .to_fields()
            .into_iter()
            .map(|(name, value)| (name.to_owned(), field_as_json(&value)))
            .collect(),
    };
    let faults = batch.faults.iter().cloned().map(FaultKind::Book);
    BatchLife {
        summary: BatchSummary::new(batch, today),
        entries: batch.events.iter().map(entry).collect(),
        faults: faults.map(|fault| sentence(&fault)).collect(),
    }
}

/// A field's value as JSON.
fn field_as_json(field: &value::Value) -> Value {
    match field {
        value::Value::Null => Value::Null,
        value::Value::Bool(b) => Value::from(*b),
        value::Value::Number(n) => output::json_number(*n),
        value::Value::Text(text) => Value::from(text.clone()),
        value::Value::List(items) => items.iter().map(field_as_json).collect(),
        value::Value::Map(fields) => fields
            .iter()
            .map(|(name, v)| (name.clone(), field_as_json(v)))
            .collect::<Map<_, _>>()
            .into(),
    }
}
