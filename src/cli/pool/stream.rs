//! `pool reduce`: rows to aggregates, for an engine that runs it as a pipe.

use super::sources::read_input;
use super::timeline::published_keys;
use super::told::PoolRemarks;
use crate::analysis::pool::{PoolGroup, WholePart};
use crate::app::failure::Failure;
use crate::app::pooling::{PoolReading, PoolTaker};
use crate::cli::output::{self, Exit};
use crate::model::filter::GroupKey;
use clap::Args;
use std::collections::BTreeSet;

/// Arguments of `pool reduce`.
#[derive(Args, Debug)]
#[command(
    after_help = "Reads rows as `struck publish` writes them, and aggregates as it writes them itself, in any order and split anyhow. Rows of \
parts that are not whole are given on as they are, so that a later `reduce` or `curve` can put them together."
)]
pub struct ReduceArguments {
    /// Tell groups apart by these as well as by taxon and wood stage: week, cover, hormone, medium, cut, piece
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    by: String,
}

/// Writes each aggregate as soon as its part is whole.
struct Reducing {
    keys: Vec<GroupKey>,
    taken: BTreeSet<(String, u32)>,
    stopped: Option<Exit>,
}

impl Reducing {
    fn write(&mut self, group: &PoolGroup) {
        if self.stopped.is_some() || !self.taken.insert((group.part.clone(), group.group)) {
            return;
        }
        let written = serde_json::to_string(group).map_err(|error| {
            output::say(&format!(
                "struck: an aggregate could not be put into JSON ({error}).\n"
            ));
            Exit::Could
        });
        self.stopped = written.and_then(|line| output::json_line(&line)).err();
    }
}

impl PoolTaker for Reducing {
    fn part(&mut self, part: WholePart) {
        for group in part.groups(&self.keys) {
            self.write(&group);
        }
    }

    fn group(&mut self, group: PoolGroup) {
        self.write(&group);
    }
}

/// Runs it.
pub fn reduce(arguments: &ReduceArguments) -> Result<Exit, Failure> {
    let mut reading = PoolReading::keeping_lines();
    let mut reducing = Reducing {
        keys: published_keys(&arguments.by)?,
        taken: BTreeSet::new(),
        stopped: None,
    };
    read_input(&mut reading, &mut reducing)?;
    for line in reading.collector.lines_left() {
        if reducing.stopped.is_none() {
            reducing.stopped = output::json_line(line).err();
        }
    }
    for line in PoolRemarks::new(&reading, None).lines() {
        output::say(&format!("! {line}\n"));
    }
    Ok(reducing.stopped.unwrap_or(Exit::Done))
}
