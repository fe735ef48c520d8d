//! A pool's lines read, from folders or from standard input, and what is told of those that do not count.

use crate::analysis::pool::{
    Pool, PoolGroup, Synonym, SynonymConflict, UncountedPart, WholePart, WhyUncounted,
};
use crate::app::failure::Failure;
use crate::app::pooling::{PoolReading, PoolTaker, read_sources};
use crate::cli::context::Context;
use crate::cli::output::{self, Progress};
use crate::model::filter::GroupKey;
use crate::text::clean::shown;
use crate::text::figures::many;
use serde::Serialize;
use std::io;
use std::path::PathBuf;

/// So many lines, parts or names are told one by one.
const MOST_TOLD: usize = 10;

/// Fills a pool of groups by these keys.
pub struct Filling {
    /// The pool.
    pub pool: Pool,
    keys: Vec<GroupKey>,
    /// A key asked for that an aggregate lacks.
    lacking: Option<String>,
}

impl Filling {
    /// An empty pool.
    pub fn new(keys: Vec<GroupKey>) -> Self {
        let words = keys.iter().map(|key| key.word().to_owned());
        Self {
            pool: Pool::new(words.collect()),
            keys,
            lacking: None,
        }
    }

    /// Refuses aggregates that cannot be told apart by what was asked for.
    pub fn check_keys(&self) -> Result<(), Failure> {
        let Some(key) = &self.lacking else {
            return Ok(());
        };
        Err(
            Failure::usage(format!("The aggregates are not told apart by {key}."))
                .hint(format!("Make them with `struck pool reduce --by {key}`.")),
        )
    }
}

impl PoolTaker for Filling {
    fn part(&mut self, part: WholePart) {
        for group in part.groups(&self.keys) {
            self.pool.add(group);
        }
    }

    fn group(&mut self, group: PoolGroup) {
        let mut keys = self.keys.iter().map(|key| key.word());
        if let Some(key) = keys.find(|key| !group.by.contains_key(*key)) {
            self.lacking = Some(key.to_owned());
        }
        self.pool.add(group);
    }
}

/// Reads folders, with progress where somebody watches.
pub fn read_folders(
    context: &Context,
    sources: &[PathBuf],
    taker: &mut dyn PoolTaker,
) -> Result<PoolReading, Failure> {
    let mut progress = Progress::new(context.environment.watched, "lines read:");
    let (mut reading, mut lines) = (PoolReading::default(), 0);
    let read = read_sources(sources, &mut reading, taker, &mut |count| {
        lines += count;
        progress.count(lines);
    });
    progress.end();
    read.map(|()| reading)
}

/// Reads standard input.
pub fn read_input(reading: &mut PoolReading, taker: &mut dyn PoolTaker) -> Result<(), Failure> {
    reading
        .read("standard input", io::stdin().lock(), taker, &mut |_| {})
        .map_err(|error| Failure::could(format!("Standard input could not be read ({error}).")))
}

/// A line that was not taken in, as JSON tells it.
#[derive(Debug, Serialize)]
pub struct UnreadPoolLine {
    file: String,
    line: u64,
    reason: String,
}

/// A part of which rows came more than once.
#[derive(Debug, Serialize)]
pub struct RepeatedPart {
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
pub fn uncounted_lines(reading: &PoolReading, uncounted: &[UncountedPart]) -> Vec<String> {
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
pub fn name_lines(synonyms: &[Synonym], conflicts: &[SynonymConflict]) -> Vec<String> {
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
pub fn say_lines(context: &Context, lines: &[String]) {
    for line in lines {
        output::say(&context.behind("! ", line));
    }
}
