//! What `climate import` says: the columns as understood, the rows left out, the end. It reads and writes no reading.

use crate::app::loggers::{SkippedRow, Survey};
use crate::cli::context::Context;
use crate::input::logger::{ColumnRole, DayOrder, LoggerColumn, LoggerLayout, ReadingUnit};
use crate::model::listed::Units;
use crate::text::clean::shown;
use crate::text::clean::wrap;
use crate::text::figures::Degrees;
use crate::text::figures::many;
use crate::text::table::{Column, table};
use serde::Serialize;

/// Rows left out that are told on a terminal.
const TOLD: usize = 10;

/// A row left out, as a line.
pub fn left_out(it: &SkippedRow) -> String {
    format!("line {}: {}\n", it.line, shown(&it.why.to_string()))
}

/// What was understood.
pub fn text(context: &Context, name: &str, survey: &Survey, units: Option<Units>) -> String {
    let mut out = String::new();
    let layout = &survey.layout;
    let said = |line: &str| context.lines(line);
    let rows = match survey.long_rows {
        None => many(survey.rows, "row", "rows"),
        Some(long) => format!(
            "{}, a reading each, of {},",
            many(long, "row", "rows"),
            many(survey.rows, "moment", "moments")
        ),
    };
    out.push_str(&said(&format!(
        "{name}: {rows} set off by {}{}.",
        match layout.between {
            b'\t' => "tabs",
            b';' => "semicolons",
            _ => "commas",
        },
        if layout.comma { ", decimal commas" } else { "" }
    )));
    out.push_str(&columns(
        context,
        survey,
        Degrees(units.unwrap_or(Units::C)),
    ));
    out.push('\n');
    if let Some((first, last)) = survey.span {
        let moment =
            |at: &chrono::DateTime<chrono::FixedOffset>| at.format("%-d %b %Y %H:%M").to_string();
        out.push_str(&said(&format!(
            "From {} to {} at {}{}: {} new, {} in the journal already.",
            moment(&first),
            moment(&last),
            survey.place,
            if survey.place_is_known {
                ""
            } else {
                " (a new place)"
            },
            many(survey.new, "reading", "readings"),
            survey.held
        )));
    }
    if survey.empty > 0 {
        out.push_str(&said(&format!(
            "{} without a value.",
            many(survey.empty, "row", "rows")
        )));
    }
    if survey.bad > 0 {
        out.push_str(&said(&format!(
            "{} left out:",
            many(survey.bad, "row", "rows")
        )));
        for row in survey.left_out.iter().take(TOLD) {
            let room = context.environment.width.saturating_sub(2);
            for line in wrap(left_out(row).trim_end(), room, context.charset) {
                out.push_str(&format!("  {}\n", line.trim_end()));
            }
        }
        let more = survey
            .bad
            .saturating_sub(survey.left_out.len().min(TOLD) as u64);
        if more > 0 {
            out.push_str(&format!("  and {more} more\n"));
        }
    }
    for doubt in survey.doubts() {
        let (sentence, option) = (doubt.sentence(), doubt.option());
        out.push_str(&said(&format!("! {sentence} Say {option}, for example.")));
    }
    out
}

fn columns(context: &Context, survey: &Survey, degrees: Degrees) -> String {
    let heads = [
        Column::number("column"),
        Column::text("heading"),
        Column::text("read as"),
        Column::text("from").at_least(4),
        Column::text("to").at_least(4),
    ];
    let rows: Vec<Vec<String>> = survey
        .layout
        .columns
        .iter()
        .zip(&survey.ranges)
        .enumerate()
        .map(|(at, (column, range))| {
            let value = |v: f64| ranged(column, v, degrees);
            vec![
                (at + 1).to_string(),
                column.heading.clone(),
                read_as(column, &survey.layout),
                range.map_or_else(String::new, |(low, _)| value(low)),
                range.map_or_else(String::new, |(_, high)| value(high)),
            ]
        })
        .collect();
    table(&heads, &rows, context.environment.width, context.charset)
}

/// A value in the journal's unit as the grower reads it.
fn ranged(column: &LoggerColumn, value: f64, degrees: Degrees) -> String {
    match column.role.map(|role| role.units()[0]) {
        Some(ReadingUnit::C) => degrees.in_words(value),
        Some(unit) => format!("{value} {}", unit.shown()),
        None => String::new(),
    }
}

fn read_as(column: &LoggerColumn, layout: &LoggerLayout) -> String {
    let Some(role) = column.role else {
        return "left out".into();
    };
    if matches!(role, ColumnRole::Time | ColumnRole::Date) {
        let order = match layout.order {
            _ if !layout.has_order => "",
            DayOrder::DayFirst => ", day first",
            DayOrder::MonthFirst => ", month first",
        };
        let zone = layout
            .zone
            .map_or_else(String::new, |zone| format!(", UTC{zone}"));
        return format!("{}{order}{zone}", role.words());
    }
    let unit = column.unit.shown();
    match (unit.is_empty(), column.unit_is_said) {
        (true, _) => role.words().into(),
        (false, true) => format!("{}, {unit}", role.words()),
        (false, false) => format!("{}, taken as {unit}", role.words()),
    }
}

/// The last line: what was written, or that nothing was.
pub fn end(survey: &Survey, asked: bool, written: u64) -> String {
    match (asked, survey.new) {
        (_, 0) => "Nothing is new: nothing was written.\n".into(),
        (true, _) => format!("{} written.\n", many(written, "reading", "readings")),
        (false, _) => "Nothing was written. Add --write to take them in.\n".into(),
    }
}

/// The answer: how the file was understood, what of it is new, and what was written.
#[derive(Serialize)]
pub struct ImportAnswer<'a> {
    place: &'a str,
    place_is_known: bool,
    between: char,
    decimal: char,
    day_first: bool,
    zone: Option<String>,
    columns: Vec<ColumnAnswer<'a>>,
    rows: u64,
    long_rows: Option<u64>,
    new: u64,
    held: u64,
    empty: u64,
    bad: u64,
    left_out: Vec<LeftOutAnswer>,
    from: Option<String>,
    to: Option<String>,
    doubts: Vec<DoubtAnswer>,
    written: u64,
}

/// How a column was understood, and its least and most in the journal's unit.
#[derive(Serialize)]
struct ColumnAnswer<'a> {
    heading: &'a str,
    role: Option<&'static str>,
    unit: Option<&'static str>,
    unit_is_said: bool,
    range: Option<(f64, f64)>,
}

/// A row that was left out, and why.
#[derive(Serialize)]
struct LeftOutAnswer {
    line: u64,
    why: String,
}

/// Something that must be said first, and the option that says it.
#[derive(Serialize)]
struct DoubtAnswer {
    doubt: String,
    option: String,
}

impl<'a> ImportAnswer<'a> {
    /// The answer of a survey after which so many readings were written.
    pub fn new(survey: &'a Survey, written: u64) -> Self {
        let layout = &survey.layout;
        let columns = layout.columns.iter().zip(&survey.ranges);
        let columns = columns.map(|(column, range)| ColumnAnswer {
            heading: &column.heading,
            role: column.role.map(ColumnRole::word),
            unit: column
                .role
                .map(|_| column.unit.shown())
                .filter(|unit| !unit.is_empty()),
            unit_is_said: column.unit_is_said,
            range: *range,
        });
        let left_out = survey.left_out.iter().map(|row| LeftOutAnswer {
            line: row.line,
            why: row.why.to_string(),
        });
        let doubts = survey.doubts().into_iter().map(|doubt| DoubtAnswer {
            doubt: doubt.sentence(),
            option: doubt.option(),
        });
        Self {
            place: &survey.place,
            place_is_known: survey.place_is_known,
            between: char::from(layout.between),
            decimal: if layout.comma { ',' } else { '.' },
            day_first: layout.order == DayOrder::DayFirst,
            zone: layout.zone.map(|zone| zone.to_string()),
            columns: columns.collect(),
            rows: survey.rows,
            long_rows: survey.long_rows,
            new: survey.new,
            held: survey.held,
            empty: survey.empty,
            bad: survey.bad,
            left_out: left_out.collect(),
            from: survey.span.map(|(first, _)| first.to_rfc3339()),
            to: survey.span.map(|(_, last)| last.to_rfc3339()),
            doubts: doubts.collect(),
            written,
        }
    }
}
