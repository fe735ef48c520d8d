//! `struck` alone: opens the bench on the terminal. The screens do the rest.

use super::context::Context;
use super::exit::Exit;
use crate::app::failure::Failure;
use crate::tui::canvas::{Colours, Ink};
use crate::tui::journal_door::JournalDoor;
use crate::tui::terminal::{TerminalOptions, run as run_face};

/// Opens the bench and stays until it ends.
///
/// # Errors
/// If there is no terminal, or the journal cannot be opened.
pub fn run(context: &Context) -> Result<Exit, Failure> {
    if !context.environment.terminal {
        return Err(Failure::usage("The bench opens on a terminal only.")
            .hint("See `struck --help` for the commands."));
    }
    let desk = context.open_or_begin()?;
    let user = desk.settings().person().unwrap_or_default().to_owned();
    let mut door = JournalDoor::open(desk)?;
    let colours = match context.environment.plain {
        true => Colours::None,
        false => Colours::Sixteen,
    };
    let ink = Ink {
        colours,
        glyphs: context.charset,
    };
    let ended = run_face(&mut door, TerminalOptions { ink, user });
    let code = ended.map_err(|error| Failure::could(format!("The terminal failed: {error}.")))?;
    Ok(match u8::try_from(code - 128) {
        Ok(signal) => Exit::Signal(signal),
        Err(_) => Exit::Done,
    })
}
