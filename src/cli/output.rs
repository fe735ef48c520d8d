//! Where words go: data to standard output, all else to standard error. Nothing else prints.

use super::exit::Exit;
use crate::app::failure::Failure;
use crate::text::clean::shown_lines;
use std::io::{self, ErrorKind, Write};

/// Number of the signal of a pipe whose reader went away.
const SIGPIPE: u8 = 13;

/// Writes data in words, with line breaks and no other control in it, whatever the journal holds. A
/// reader that went away ends the program quietly.
///
/// # Errors
/// The exit that a failed write asks for, already told on standard error if it can be.
pub fn data(text: &str) -> Result<(), Exit> {
    exact(&shown_lines(text))
}

/// Writes data as it is: for JSON and CSV, which are made harmless as they are put together.
///
/// # Errors
/// As [`data`].
pub fn exact(text: &str) -> Result<(), Exit> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Err(Exit::Signal(SIGPIPE)),
        Err(error) => {
            say(&format!(
                "struck: standard output could not be written ({error}).\n"
            ));
            Err(Exit::Could)
        }
    }
}

/// Says something beside the data, as harmless as [`data`]. If even that fails there is nobody left to tell.
pub fn say(text: &str) {
    draw(&shown_lines(text));
}

/// Draws on the line of progress, with controls of our own.
pub fn draw(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// Tells a failure and gives the exit that it asks for.
pub fn failed(failure: &Failure) -> Exit {
    let mut text = format!("struck: {}\n", failure.message);
    for hint in &failure.hints {
        text.push_str(&format!("  {hint}\n"));
    }
    say(&text);
    failure.kind.into()
}
