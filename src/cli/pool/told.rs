//! What is told beside the figures of a pool: lines and parts that do not count, or count once; names taken for one another.
//! And how an answer with all that is printed.

use crate::analysis::pool::{Pool, Synonym, SynonymConflict, UncountedPart, WhyUncounted};
use crate::app::failure::Failure;
use crate::app::pooling::PoolReading;
use crate::cli::context::Context;
use crate::cli::output::{self, Exit};
use crate::text::clean::shown;
use crate::text::figures::many;
use serde::Serialize;

/// So many lines, parts or names are told one by one.
const MOST_TOLD: usize = 10;

/// The form that an answer is asked for in.
#[derive(Clone, Copy)]
pub enum Form {
    /// For people.
    Text,
    /// As CSV.
    Csv,
    /// As JSON.
    Json,
}

impl Form {
    /// By the two options.
    pub fn asked(csv: bool, json: bool) -> Self {
        match (csv, json) {
            (_, true) => Self::Json,
            (true, _) => Self::Csv,
            _ => Self::Text,
        }
    }
}

/// An answer with what is told beside it.
#[derive(Serialize)]
struct Told<'a, A> {
    #[serde(flatten)]
    answer: &'a A,
    #[serde(flatten)]
    remarks: &'a PoolRemarks,
}

/// All that is told beside an answer, in words, a line each.
pub struct Beside {
    remarks: PoolRemarks,
    uncounted: Vec<String>,
    names: Vec<String>,
}

impl Beside {
    /// Of a reading, and of the answer's own words on it.
    pub fn new(
        remarks: PoolRemarks,
        reading: &PoolReading,
        uncounted: &[UncountedPart],
        (synonyms, conflicts): (&[Synonym], &[SynonymConflict]),
    ) -> Self {
        Self {
            remarks,
            uncounted: uncounted_lines(reading, uncounted),
            names: name_lines(synonyms, conflicts),
        }
    }

    /// Prints the answer in its form. Names, which JSON holds itself and CSV has no room for, stand above the text alone.
    pub fn print<A: Serialize>(
        &self,
        context: &Context,
        form: Form,
        answer: &A,
        csv: impl FnOnce() -> Result<String, Failure>,
        text: impl FnOnce() -> String,
    ) -> Result<Exit, Failure> {
        let mut told = self.remarks.lines();
        told.extend_from_slice(&self.uncounted);
        let written = match form {
            Form::Json => {
                say_lines(context, &told);
                let remarks = &self.remarks;
                context.print_json(&Told { answer, remarks })
            }
            Form::Csv => {
                say_lines(context, &told);
                context.print_csv(&csv()?)
            }
            Form::Text => {
                told.extend_from_slice(&self.names);
                let above = told.iter().map(|line| context.behind("! ", line));
                context.print_text(&(above.collect::<String>() + &text()))
            }
        };
        Ok(written.err().unwrap_or(Exit::Done))
    }
}

/// A line that was not taken in, as JSON tells it.
#[derive(Debug, Serialize)]
struct UnreadPoolLine {
    file: String,
    line: u64,
    reason: String,
}

/// A part of which rows came more than once.
#[derive(Debug, Serialize)]
struct RepeatedPart {
    part: String,
    /// Rows, or of aggregates batches.
    repeated: u64,
}

/// What is told beside the figures: all that did not count, or counted once.
#[derive(Debug, Serialize)]
pub struct PoolRemarks {
    unread: Vec<UnreadPoolLine>,
    repeated: Vec<RepeatedPart>,
}

impl PoolRemarks {
    /// Of a reading, and of a pool into which aggregates went.
    pub fn new(reading: &PoolReading, pool: Option<&Pool>) -> Self {
        let unread = reading.unread.iter().map(|it| UnreadPoolLine {
            file: it.file.clone(),
            line: it.line,
            reason: it.fault.to_string(),
        });
        let of_rows = reading.collector.repeated().iter();
        let of_groups = pool.into_iter().flat_map(|pool| pool.repeated().iter());
        let repeated = of_rows.chain(of_groups).map(|(part, count)| RepeatedPart {
            part: part.clone(),
            repeated: *count,
        });
        Self {
            unread: unread.collect(),
            repeated: repeated.collect(),
        }
    }

    /// In words, a line each.
    pub fn lines(&self) -> Vec<String> {
        let mut out = Vec::new();
        listed(&mut out, &self.unread, "lines", |it| {
            format!(
                "{}:{}: {}; the line does not count.",
                shown(&it.file),
                it.line,
                it.reason
            )
        });
        if !self.repeated.is_empty() {
            let rows: u64 = self.repeated.iter().map(|it| it.repeated).sum();
            out.push(format!(
                "{} came more than once ({}); each counts once.",
                many(self.repeated.len() as u64, "part", "parts"),
                many(rows, "row", "rows")
            ));
        }
        out
    }
}

/// Says each of the first, and how many more there are.
fn listed<T>(out: &mut Vec<String>, items: &[T], what: &str, say: impl Fn(&T) -> String) {
    out.extend(items.iter().take(MOST_TOLD).map(say));
    if items.len() > MOST_TOLD {
        out.push(format!("… and {} more {what}.", items.len() - MOST_TOLD));
    }
}

/// The parts that do not count, in words, a line each.
fn uncounted_lines(reading: &PoolReading, uncounted: &[UncountedPart]) -> Vec<String> {
    let mut out = Vec::new();
    listed(&mut out, uncounted, "parts", |it| {
        let files: Vec<String> = reading
            .files_with(&it.part)
            .iter()
            .map(|it| shown(it))
            .collect();
        let whence = if files.is_empty() {
            String::new()
        } else {
            format!(" in {}", files.join(", "))
        };
        let named = format!(
            "nursery {}, season {}, part {}{whence}",
            shown(&it.nursery),
            it.season,
            shown(&it.part)
        );
        match &it.why {
            WhyUncounted::Short { rows, of } => format!(
                "{named}: only {rows} of {of} rows are here, so none of them counts. Copy the file or publish anew."
            ),
            WhyUncounted::Changed => format!(
                "{named}: its rows are not those that were published, so none of them counts. Publish anew."
            ),
            WhyUncounted::Versions { versions } => format!(
                "{named}: the season stands here in {versions} versions, so none of them counts. Keep only the folder published last."
            ),
        }
    });
    out
}

/// Names of one taxon, in words, a line each.
fn name_lines(synonyms: &[Synonym], conflicts: &[SynonymConflict]) -> Vec<String> {
    let mut out = Vec::new();
    listed(&mut out, synonyms, "names", |it| {
        format!(
            "{} is counted as {}, as nursery {} has it.",
            shown(&it.name),
            shown(&it.taxon),
            shown(&it.nursery)
        )
    });
    listed(&mut out, conflicts, "names", |it| {
        let each: Vec<String> = it
            .taxa
            .iter()
            .map(|(taxon, nursery)| format!("{} ({})", shown(taxon), shown(nursery)))
            .collect();
        format!(
            "Nurseries take {} for different plants: {}. Each name is counted by itself.",
            shown(&it.name),
            each.join(", ")
        )
    });
    out
}

/// Says on standard error what did not count, where the answer has no room for it.
fn say_lines(context: &Context, lines: &[String]) {
    for line in lines {
        output::say(&context.behind("! ", line));
    }
}
