//! Where words go: data to standard output, all else to standard error. Nothing else prints.

use super::exit::Exit;
use crate::desk::failure::Failure;
use std::io::{self, ErrorKind, Write};

/// Number of the signal of a pipe whose reader went away.
const SIGPIPE: u8 = 13;

/// Writes data. A reader that went away ends the program quietly.
///
/// # Errors
/// The exit that a failed write asks for, already told on standard error if it can be.
pub fn data(text: &str) -> Result<(), Exit> {
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

/// Says something beside the data. If even that fails there is nobody left to tell.
pub fn say(text: &str) {
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
