//! `struck` alone: opens the bench on the terminal. The screens do the rest.

use super::answer::missing_files;
use super::context::Context;
use super::output;
use super::output::Exit;
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::text::clean::shown;
use crate::tui::canvas::{Colours, Ink};
use crate::tui::journal_door::JournalDoor;
use crate::tui::terminal::{self, OpenDoor, TerminalOptions};
use std::path::Path;
use std::sync::mpsc::channel;

/// Asks on the terminal whether a journal may be begun.
fn ask_to_begin(context: &Context, path: &Path) -> Result<(), Failure> {
    let path = shown(&path.to_string_lossy());
    let said = context.lines(&format!("There is no journal at {path}."));
    let question = context.lines("Begin a new one there? y, or anything else to leave:");
    output::draw(&format!("{said}{} ", question.trim_end()));
    let mut answer = String::new();
    let read = std::io::stdin().read_line(&mut answer);
    match answer.trim().to_lowercase().as_str() {
        "y" | "yes" if read.is_ok() => Ok(()),
        _ => Err(Failure::could("No journal was begun.")
            .hint("Name another with --journal or STRUCK_JOURNAL.")),
    }
}

/// Opens the bench and stays until it ends.
///
/// # Errors
/// If there is no terminal, or the journal cannot be opened.
pub fn run(context: &Context) -> Result<Exit, Failure> {
    if !context.environment.terminal {
        return Err(Failure::usage("The bench opens on a terminal only.")
            .hint("See `struck --help` for the commands."));
    }
    if context.environment.dumb {
        return Err(Failure::could(
            "This terminal takes no orders (TERM=dumb), so the bench cannot be drawn on it.",
        )
        .hint("Set TERM to what the terminal is, or use the commands: `struck --help`."));
    }
    let (settings, clock) = context.to_open_or_begin(|path| ask_to_begin(context, path))?;
    let user = settings.person().unwrap_or_default().to_owned();
    let (missing, told) = channel();
    let opening = move |progress: &mut dyn FnMut(u64)| {
        let desk = Desk::open_or_begin(settings, clock, progress)?;
        // Nobody listens any more where somebody left.
        let _ = missing.send(missing_files(&desk));
        Ok(Box::new(JournalDoor::open(desk)?) as OpenDoor)
    };
    let colours = match context.environment.plain {
        true => Colours::None,
        false => Colours::Sixteen,
    };
    let ink = Ink {
        colours,
        glyphs: context.charset,
    };
    let code = terminal::run(Box::new(opening), TerminalOptions { ink, user })?;
    if let Ok(missing) = told.try_recv() {
        context.basis.note(missing);
        context.basis.say();
    }
    Ok(match u8::try_from(code - 128) {
        Ok(signal) => Exit::Signal(signal),
        Err(_) => Exit::Done,
    })
}
