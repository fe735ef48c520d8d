//! `completions` and `man`: what a shell and the manual need to know of the command line.

use super::output::{self, Exit};
use crate::app::exports::put_files;
use crate::app::failure::Failure;
use crate::handover::HandoverFile;
use crate::text::clean::shown;
use clap::{Args, Command};
use clap_complete::Shell;
use std::path::PathBuf;

/// Arguments of `completions`.
#[derive(Args, Debug)]
pub struct CompletionsArguments {
    /// The shell
    #[arg(value_name = "SHELL")]
    shell: Shell,
}

/// Arguments of `man`.
#[derive(Args, Debug)]
pub struct ManArguments {
    /// The folder, such as ~/.local/share/man/man1
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

/// Prints the script that completes commands and options in a shell.
pub fn completions(mut command: Command, arguments: &CompletionsArguments) -> Exit {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut command, "struck", &mut script);
    let script = String::from_utf8_lossy(&script);
    output::exact(&script).err().unwrap_or(Exit::Done)
}

/// Writes a manual page for the program and for each command.
pub fn man(mut command: Command, arguments: &ManArguments) -> Result<Exit, Failure> {
    command.build();
    let mut pages = Vec::new();
    render(&command, "struck", &mut pages)
        .map_err(|error| Failure::could(format!("A manual page could not be made ({error}).")))?;
    put_files(&arguments.folder, &pages)?;
    let names: String = pages
        .iter()
        .map(|page| format!("{}\n", page.name))
        .collect();
    if let Err(exit) = output::data(&names) {
        return Ok(exit);
    }
    let folder = shown(&arguments.folder.to_string_lossy());
    output::say(&format!(
        "Written to {folder}; read them with `man struck`.\n"
    ));
    Ok(Exit::Done)
}

/// The page of a command, then those of the commands below it.
fn render(command: &Command, name: &str, pages: &mut Vec<HandoverFile>) -> std::io::Result<()> {
    let mut bytes = Vec::new();
    let page = clap_mangen::Man::new(command.clone());
    page.title(name).render(&mut bytes)?;
    pages.push(HandoverFile {
        name: format!("{name}.1"),
        bytes,
    });
    for inner in command
        .get_subcommands()
        .filter(|inner| inner.get_name() != "help")
    {
        render(inner, &format!("{name}-{}", inner.get_name()), pages)?;
    }
    Ok(())
}
