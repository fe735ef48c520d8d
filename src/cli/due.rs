//! `due`: which batches want a look, potting or a decision, today and in the days to come, and why.

use super::context::Context;
use super::exit::Exit;
use super::filters::Filters;
use super::{due_json, named, output};
use crate::analysis::due::due_on;
use crate::analysis::due::{DueItem, DueList, Urgency};
use crate::app::failure::Failure;
use crate::fold::batch::Batch;
use crate::model::id::Id;
use crate::text::clean::wrap;
use crate::text::dates::Calendar;
use crate::text::due::{brief, mark, why};
use chrono::{Datelike, Days, NaiveDate};
use clap::Args;
use std::collections::HashMap;

/// Arguments of `due`.
#[derive(Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    filters: Filters,
    /// As of this day, from what was entered for days up to it
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// So many days ahead as well
    #[arg(long, value_name = "N", default_value_t = 7)]
    days: u16,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// A batch on the list, as it stood that day.
pub struct Line<'a> {
    /// Why and when.
    pub item: &'a DueItem,
    /// It.
    pub batch: &'a Batch,
}

/// What there is to tell.
pub struct Told<'a> {
    /// The list of the day.
    pub due: &'a DueList,
    /// What is due, then what will be, in order.
    pub lines: Vec<Line<'a>>,
    /// How many days ahead.
    pub days: u16,
    /// Open batches meant, silent ones too.
    pub open: usize,
    /// How days are shown.
    pub calendar: Calendar,
    /// The codes of those without an entry for long.
    pub silent: Vec<&'a str>,
}

/// Runs it.
pub fn run(context: &Context, arguments: &Arguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let today = context.environment.clock()?.now().date_naive();
    let on = match arguments.on.as_deref() {
        Some(text) => context.day(text)?,
        None => today,
    };
    let desk = context.open()?;
    let book = desk.book();
    named::check(book, &filter)?;
    let due = due_on(book, on);
    let batches = book.batches_on(on);
    let by_key: HashMap<&Id, &Batch> = batches
        .iter()
        .filter(|batch| filter.admits(book, batch))
        .map(|batch| (&batch.key, batch.as_ref()))
        .collect();
    let meant = |key: &Id| by_key.get(key).copied();
    let told = told(&due, &meant, arguments.days, Calendar::for_book(book, on));
    let written = if arguments.json {
        super::json::write(&due_json::of(&told))
    } else {
        output::data(&text(context, &told, today))
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

fn told<'a>(
    due: &'a DueList,
    meant: &impl Fn(&Id) -> Option<&'a Batch>,
    days: u16,
    calendar: Calendar,
) -> Told<'a> {
    let last = due.on.checked_add_days(Days::new(days.into()));
    let last = last.unwrap_or(NaiveDate::MAX);
    let all: Vec<Line> = due
        .items
        .iter()
        .filter_map(|item| {
            Some(Line {
                item,
                batch: meant(&item.key)?,
            })
        })
        .collect();
    let silent: Vec<&str> = due
        .silent
        .iter()
        .filter_map(|key| Some(meant(key)?.code.as_str()))
        .collect();
    Told {
        due,
        days,
        calendar,
        open: all.len() + silent.len(),
        lines: all
            .into_iter()
            .filter(|line| line.item.on <= last)
            .collect(),
        silent,
    }
}

/// The headings in the order of the list.
const HEADS: [(Urgency, &str); 4] = [
    (Urgency::Failing, "Failing"),
    (Urgency::Late, "Late"),
    (Urgency::Due, "DueList"),
    (Urgency::Waiting, "Coming"),
];

fn text(context: &Context, told: &Told, today: NaiveDate) -> String {
    let calendar = told.calendar;
    let mut out = Lines {
        context,
        text: String::new(),
    };
    let now = told
        .lines
        .iter()
        .filter(|line| line.item.press != Urgency::Waiting);
    // Within the list the day asked for is the present one; only its heading tells of what year it is.
    let on = match (calendar.day(told.due.on), told.due.on.year()) {
        (day, year) if year == today.year() => day,
        (day, year) => format!("{day} {year}"),
    };
    let head = match told.open {
        0 => format!("{on}: no batch is open."),
        open => format!("{on}: {} of {open} open batches due.", now.count()),
    };
    out.add("", &head);
    for (press, head) in HEADS {
        let of_press = told.lines.iter().filter(|line| line.item.press == press);
        let lines: Vec<&Line> = of_press.collect();
        if lines.is_empty() {
            continue;
        }
        out.text.push('\n');
        out.add("", &format!("{head}: {}", lines.len()));
        for line in lines {
            batch(line, calendar, &mut out);
        }
    }
    if let Some(line) = silent(told) {
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

fn batch(line: &Line, calendar: Calendar, out: &mut Lines) {
    let Line { item, batch } = line;
    let age = (calendar.today - batch.stuck_on).num_days();
    let place = batch.place.as_deref().map(|place| format!(", {place}"));
    out.add(
        &format!("{} ", mark(item.press)),
        &format!(
            "{} {}, day {age}, {} left: {}{}",
            item.code,
            batch.taxon.shown(),
            batch.counts.remain(),
            brief(item, calendar),
            place.unwrap_or_default()
        ),
    );
    for reason in &item.reasons {
        out.add("    ", &why(reason, calendar));
    }
}

/// One line for all that were not heard of for long.
fn silent(told: &Told) -> Option<String> {
    let count = told.silent.len();
    let noun = if count == 1 { "batch" } else { "batches" };
    let days = crate::fold::batch::SILENT_DAYS;
    (count > 0).then(|| format!("Left out: {count} {noun} without an entry for {days} days."))
}
