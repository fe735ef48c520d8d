//! `due`: which batches want a look, potting or a decision, today and in the days to come, and why.

use super::context::Context;
use super::csv_writer::csv_of_json;
use super::filters;
use super::filters::Filters;
use super::output::Exit;
use crate::analysis::due::due_on;
use crate::analysis::due::{DueAnswer, DueItem, DueReason, SilentBatches, Urgency};
use crate::app::failure::Failure;
use crate::fold::batch::Batch;
use crate::model::id::Id;
use crate::model::text::{place_key, split_spot};
use crate::text::clean::wrap;
use crate::text::dates::Calendar;
use crate::text::due::{brief, mark, remedy, why};
use chrono::{Datelike, NaiveDate};
use clap::Args;
use std::collections::HashMap;

/// The arguments of `due`.
#[derive(Args, Debug)]
pub struct DueArguments {
    #[command(flatten)]
    filters: Filters,
    /// As of this day, from what was entered for days up to it
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// So many days ahead as well
    #[arg(long, value_name = "N", default_value_t = 7)]
    days: u16,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &DueArguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let today = context.environment.clock()?.now().date_naive();
    let on = match arguments.on.as_deref() {
        Some(text) => context.day(text)?,
        None => today,
    };
    let desk = context.open()?;
    let book = desk.book();
    filters::check_names(book, &filter)?;
    let list = due_on(book, on);
    let batches = book.batches_on(on);
    let admits = filter.within(book);
    let by_key: HashMap<&Id, &Batch> = batches
        .iter()
        .filter(|batch| admits(batch))
        .map(|batch| (&batch.key, batch.as_ref()))
        .collect();
    let code = |key: &Id| by_key.get(key).map(|batch| batch.code.clone());
    let answer = DueAnswer::new(&list, arguments.days, &code);
    let written = if arguments.json {
        context.print_json(&answer)
    } else if arguments.csv {
        let items = answer.due.iter().chain(&answer.coming);
        context.print_csv(&csv_of_json(&COLUMNS, items)?)
    } else {
        context.print_text(&text(context, &answer, Calendar::for_book(book, on), today))
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

/// The columns of the CSV: what is due and then what is coming, a row a batch.
const COLUMNS: [&str; 12] = [
    "batch",
    "stick",
    "taxon",
    "wood",
    "place",
    "day",
    "remain",
    "press",
    "on",
    "in_days",
    "unseen_since",
    "reasons[].rule as reasons",
];

/// The headings in the order of the list.
const HEADS: [(Urgency, &str); 4] = [
    (Urgency::Failing, "Failing"),
    (Urgency::Late, "Late"),
    (Urgency::Due, "Due"),
    (Urgency::Waiting, "Coming"),
];

fn text(context: &Context, answer: &DueAnswer, calendar: Calendar, today: NaiveDate) -> String {
    let mut out = Lines {
        context,
        text: String::new(),
    };
    // Within the list the day asked for is the present one; only its heading tells of what year it is.
    let on = match (calendar.day(answer.on), answer.on.year()) {
        (day, year) if year == today.year() => day,
        (day, year) => format!("{day} {year}"),
    };
    let head = match answer.open {
        0 => format!("{on}: no batch is open."),
        open => format!("{on}: {} of {open} open batches due.", answer.due.len()),
    };
    out.add("", &head);
    for (press, head) in HEADS {
        let all = answer.due.iter().chain(&answer.coming);
        let seen = all.filter(|item| item.unseen_since.is_none());
        let items: Vec<&DueItem> = seen.filter(|item| item.press == press).collect();
        if items.is_empty() {
            continue;
        }
        out.text.push('\n');
        out.add("", &format!("{head}: {}", items.len()));
        for item in items {
            batch(item, calendar, &mut out);
        }
    }
    unseen(answer, calendar, &mut out);
    if let Some(line) = silent(&answer.silent) {
        out.text.push('\n');
        out.add("", &line);
    }
    out.text
}

/// Lines that fit.
struct Lines<'a> {
    context: &'a Context,
    text: String,
}

impl Lines<'_> {
    /// Adds a line behind a sign or spaces; what does not fit runs on, set in by two more.
    fn add(&mut self, sign: &str, line: &str) {
        let width = self.context.environment.width.min(WIDEST);
        let indent = sign.len();
        let room = width.saturating_sub(indent + 2);
        for (at, part) in wrap(line, room, self.context.charset).iter().enumerate() {
            let before = match at {
                0 => sign.to_owned(),
                _ => " ".repeat(indent + 2),
            };
            self.text.push_str(&format!("{before}{part}\n"));
        }
    }
}

/// Longer lines are hard to read.
const WIDEST: usize = 100;

fn batch(item: &DueItem, calendar: Calendar, out: &mut Lines) {
    let place = item.place.as_deref().map(|place| format!(", {place}"));
    out.add(
        &format!("{} ", mark(item.press)),
        &format!(
            "{} {}, day {}, {} left: {}{}",
            item.code,
            item.taxon,
            item.day,
            item.remain,
            brief(item, calendar),
            place.unwrap_or_default()
        ),
    );
    for reason in &item.reasons {
        out.add("    ", &why(reason, calendar));
        if let DueReason::Failing(sign) = reason {
            out.add("    ", &remedy(sign, calendar));
        }
    }
}

/// Batches lost sight of: a line a place, and how a place is laid to rest.
fn unseen(answer: &DueAnswer, calendar: Calendar, out: &mut Lines) {
    let mut places: Vec<(&str, Vec<NaiveDate>)> = Vec::new();
    for item in answer.due.iter().chain(&answer.coming) {
        let Some(since) = item.unseen_since else {
            continue;
        };
        let place = item
            .place
            .as_deref()
            .map_or("", |place| split_spot(place).0);
        let alike = |held: &&mut (&str, Vec<NaiveDate>)| place_key(held.0) == place_key(place);
        match places.iter_mut().find(alike) {
            Some((_, days)) => days.push(since),
            None => places.push((place, vec![since])),
        }
    }
    if places.is_empty() {
        return;
    }
    out.text.push('\n');
    let batches: usize = places.iter().map(|(_, days)| days.len()).sum();
    out.add(
        "",
        &format!("Not looked at for too long: {batches}; nothing is expected of these"),
    );
    for (place, days) in &places {
        out.add("* ", &crate::text::due::unseen(place, days, calendar));
    }
    // Only what has a name can be laid to rest.
    if let Some((named, _)) = places.iter().find(|(place, _)| !place.is_empty()) {
        let rest = format!("struck add \"remark {named}: at rest, again on DAY\"");
        out.add(
            "",
            &format!("Look at them. To be told no more of a place until a day: {rest}"),
        );
    }
}

/// One line for all that were not heard of for long.
fn silent(silent: &SilentBatches) -> Option<String> {
    let SilentBatches { days, count, .. } = silent;
    let noun = if *count == 1 { "batch" } else { "batches" };
    (*count > 0).then(|| format!("Left out: {count} {noun} with no entry for {days} days."))
}
