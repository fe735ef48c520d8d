//! A pool's lines read, from folders or from standard input.

use crate::analysis::pool::{Pool, PoolGroup, WholePart};
use crate::app::failure::Failure;
use crate::app::pooling::{PoolReading, PoolTaker, read_sources};
use crate::cli::context::Context;
use crate::cli::output::Progress;
use crate::model::filter::GroupKey;
use std::io;
use std::path::PathBuf;

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
