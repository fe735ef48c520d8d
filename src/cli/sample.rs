//! `sample`: writes the journals of the invented nursery into a new folder.

use super::output;
use super::output::Exit;
use crate::app::failure::Failure;
use crate::app::files::write_sample;
use clap::Args;
use std::path::PathBuf;

/// The arguments of `sample`.
#[derive(Args, Debug)]
pub struct SampleArguments {
    /// A folder that is not there yet
    dir: PathBuf,
}

/// Runs the command.
pub fn run(arguments: &SampleArguments) -> Result<Exit, Failure> {
    let written = write_sample(&arguments.dir)?;
    let mut text = String::new();
    for path in written {
        text.push_str(&format!("{}\n", path.display()));
    }
    if let Err(exit) = output::data(&text) {
        return Ok(exit);
    }
    output::say(&format!(
        "Look at it with: struck timeline --journal {}\n",
        arguments.dir.display()
    ));
    Ok(Exit::Done)
}
