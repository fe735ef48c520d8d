//! What a row of old records comes to: a batch with what followed, the cells that did not fit, or the reason why it
//! makes no batch.

use crate::model::value::Value;
use chrono::NaiveDate;
use thiserror::Error;

/// A batch that a row tells of.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedBatch {
    /// The row's line in the file, from 1.
    pub line: u64,
    /// A hash of the row's cells (and of how many like rows stand above), from which the entries' ids are made.
    pub fingerprint: String,
    /// The code of the records.
    pub code: Option<String>,
    /// The plant's name.
    pub taxon: String,
    /// Cuttings stuck.
    pub stuck: u32,
    /// The day of sticking.
    pub day: NaiveDate,
    /// Further facts at sticking, as fields of the journal.
    pub facts: Vec<(String, Value)>,
    /// What happened since, in order of days.
    pub events: Vec<RecordedEvent>,
    /// What the row says beyond that, word for word.
    pub note: Option<String>,
    /// What of its outcome did not fit, and stands in the note instead.
    pub doubts: Vec<RowProblem>,
}

impl RecordedBatch {
    /// Cuttings that the records leave on the bench.
    #[must_use]
    pub fn remain(&self) -> u32 {
        let count = |value: &Value| value.number(0.0, 1e6).map_or(0, |n| n as u32);
        let gone = |(name, value): &(String, Value)| match (name.as_str(), value) {
            ("count", count_of) => count(count_of),
            ("lost", Value::Map(causes)) => causes.iter().map(|(_, n)| count(n)).sum(),
            _ => 0,
        };
        let gone: u32 = self
            .events
            .iter()
            .flat_map(|event| &event.fields)
            .map(gone)
            .sum();
        self.stuck.saturating_sub(gone)
    }
}

impl RecordedEvent {
    /// It in a few words: `2023-06-28 look: 20 rooted, 4 lost`.
    #[must_use]
    pub fn words(&self) -> String {
        let number = |value: &Value| value.number(0.0, 1e6).unwrap_or(0.0);
        let part = |(name, value): &(String, Value)| match (name.as_str(), value) {
            ("callused" | "rooted", count) => Some(format!("{} {name}", number(count))),
            ("count", count) => Some(number(count).to_string()),
            ("lost", Value::Map(causes)) => {
                let dead: f64 = causes.iter().map(|(_, count)| number(count)).sum();
                Some(format!("{dead} lost"))
            }
            ("about", Value::Map(guesses)) => {
                let guess = |(stage, guess): &(String, Value)| {
                    format!("{} {stage}", guess.text().unwrap_or_default())
                };
                Some(guesses.iter().map(guess).collect::<Vec<_>>().join(", "))
            }
            _ => None,
        };
        let parts: Vec<String> = self.fields.iter().filter_map(part).collect();
        format!("{} {}: {}", self.day, self.kind, parts.join(", "))
    }
}

/// What happened to a batch by its records.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedEvent {
    /// The day.
    pub day: NaiveDate,
    /// The kind of the journal's entry.
    pub kind: &'static str,
    /// Its fields.
    pub fields: Vec<(String, Value)>,
}

/// Why a row makes no batch.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum RowProblem {
    /// The plant is not named.
    #[error("no plant is named")]
    NoPlant,
    /// How many were stuck is not said.
    #[error("how many were stuck is not said")]
    NoNumber,
    /// The day of sticking is not said.
    #[error("the day of sticking is not said")]
    NoDay,
    /// A cell under a heading of days is none.
    #[error("`{cell}` under `{column}` is no day")]
    Day {
        /// The column's name.
        column: String,
        /// The cell.
        cell: String,
    },
    /// A day that reads two ways while the table does not tell the order.
    #[error(
        "`{cell}` under `{column}` may be day-month or month-day; settle `day_order` in the mapping"
    )]
    DayOrder {
        /// The column's name.
        column: String,
        /// The cell.
        cell: String,
    },
    /// A cell under a heading of numbers is none.
    #[error("`{cell}` under `{column}` is no whole number")]
    Number {
        /// The column's name.
        column: String,
        /// The cell.
        cell: String,
    },
    /// Counts stand without a day.
    #[error("it has counts and no day of counting; settle `counted_on` in the mapping")]
    NoCountDay,
    /// A day before that of sticking.
    #[error("{day} under `{column}` is before it was stuck on {stuck}")]
    BeforeSticking {
        /// The column's name.
        column: String,
        /// The day.
        day: NaiveDate,
        /// The day of sticking.
        stuck: NaiveDate,
    },
    /// More than were stuck.
    #[error("{sum} are accounted for ({parts}) of {stuck} stuck")]
    TooMany {
        /// How many.
        sum: u32,
        /// Of what.
        parts: String,
        /// How many were stuck.
        stuck: u32,
    },
    /// A day that is still to come.
    #[error("{day} under `{column}` is still to come")]
    ToCome {
        /// The column's name.
        column: String,
        /// The day.
        day: NaiveDate,
    },
    /// The journal takes no such entry.
    #[error("{0}")]
    NoEntry(String),
}

/// A row that makes no batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowLeftOut {
    /// Its line in the file, from 1.
    pub line: u64,
    /// As of a batch: an earlier reading of the table may have made one of it.
    pub fingerprint: String,
    /// Why.
    pub why: RowProblem,
    /// Its cells in words.
    pub cells: String,
}
