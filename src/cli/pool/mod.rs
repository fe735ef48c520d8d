//! `pool`: the figures of many nurseries together, and the same for an engine that runs them as pipes.

mod compare;
mod expect;
mod sources;
mod stream;
mod timeline;
mod told;

use super::context::Context;
use super::output::Exit;
use crate::app::failure::Failure;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Arguments of `pool`.
#[derive(Args, Debug)]
#[command(
    subcommand_precedence_over_arg = true,
    after_help = "SRC are folders that nurseries published to with `struck publish`. How an engine runs the same figures over more nurseries than one \
machine holds stands in tests/pool/README.md of the program's sources.\n\n\
Examples:\n  \
struck pool /mnt/society timeline weigela --by wood\n  \
struck pool reduce < rows.jsonl > aggregates.jsonl\n  \
struck pool curve < aggregates.jsonl"
)]
pub struct PoolArguments {
    /// Folders that were published to
    #[arg(value_name = "SRC")]
    sources: Vec<PathBuf>,
    #[command(subcommand)]
    question: PoolQuestion,
}

#[derive(Subcommand, Debug)]
enum PoolQuestion {
    /// How many root and how long they take, over all nurseries
    Timeline(timeline::PoolTimelineArguments),
    /// Compare arms within nurseries: covers, hormones, wood stages, media
    Compare(compare::PoolCompareArguments),
    /// How many of the next batch will root, at a nursery like these or at one of them
    Expect(expect::PoolExpectArguments),
    /// Rows on standard input to an aggregate of each group, nursery and season
    Reduce(stream::ReduceArguments),
    /// Aggregates on standard input to the figures of `pool timeline`
    Curve(timeline::PoolTimelineArguments),
}

/// Runs it.
pub fn run(context: &Context, arguments: &PoolArguments) -> Result<Exit, Failure> {
    let sources = arguments.sources.as_slice();
    match &arguments.question {
        PoolQuestion::Timeline(asked) => timeline::run(context, named(sources)?, asked),
        PoolQuestion::Compare(asked) => compare::run(context, named(sources)?, asked),
        PoolQuestion::Expect(asked) => expect::run(context, named(sources)?, asked),
        PoolQuestion::Reduce(asked) => {
            unnamed(sources, "reduce")?;
            stream::reduce(asked)
        }
        PoolQuestion::Curve(asked) => {
            unnamed(sources, "curve")?;
            timeline::curve(context, asked)
        }
    }
}

fn named(sources: &[PathBuf]) -> Result<&[PathBuf], Failure> {
    if sources.is_empty() {
        return Err(
            Failure::usage("Which nurseries? No folder is named that they published to.")
                .hint("Say it before the question: `struck pool /mnt/society timeline`."),
        );
    }
    Ok(sources)
}

fn unnamed(sources: &[PathBuf], question: &str) -> Result<(), Failure> {
    if sources.is_empty() {
        return Ok(());
    }
    Err(
        Failure::usage(format!("`pool {question}` reads standard input.")).hint(format!(
            "Say `cat SRC/*/*/*.jsonl | struck pool {question}`."
        )),
    )
}
