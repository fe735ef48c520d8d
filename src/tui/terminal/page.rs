//! The terminal taken over and given back: raw mode, its own page, bracketed paste, the cursor.
//! Whatever ends the program, the terminal is left as it was found.

use ratatui::layout::Size;
use rustix::termios::{self, OptionalActions, Termios};
use std::io::{self, Write};
use std::sync::{Mutex, PoisonError};

/// The line settings to give back; nothing while the terminal is not ours.
static SAVED_SETTINGS: Mutex<Option<Termios>> = Mutex::new(None);

/// Own page, its cells cleared, bracketed paste, wrapping off at the edge left alone.
const ENTER: &str = "\x1b[?1049h\x1b[0m\x1b[2J\x1b[?2004h\x1b[?25l";
/// Plain pen, no bracketed paste, cursor seen, the user's page again.
const LEAVE: &str = "\x1b[0m\x1b[?2004l\x1b[?25h\x1b[?1049l";

/// The terminal, ours while this lives.
#[derive(Debug)]
pub struct TerminalGuard(());

impl TerminalGuard {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// If standard input or output is no terminal, or cannot be written.
    pub fn take() -> io::Result<Self> {
        enter()?;
        Ok(Self(()))
    }
}

impl Drop for TerminalGuard {
    fn drop(&mut self) {
        leave();
    }
}

/// Enters raw mode and the program's own page.
///
/// # Errors
/// If standard input or output is no terminal, or cannot be written.
pub fn enter() -> io::Result<()> {
    let input = io::stdin();
    let found = termios::tcgetattr(&input)?;
    let mut raw = found.clone();
    raw.make_raw();
    {
        let mut held = SAVED_SETTINGS
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        held.get_or_insert(found);
    }
    termios::tcsetattr(&input, OptionalActions::Now, &raw)?;
    say(ENTER)
}

/// Gives the terminal back, if it is ours. It may be gone by now, so that nothing here can fail.
pub fn leave() {
    let found = SAVED_SETTINGS
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
        .take();
    if let Some(found) = found {
        let _ = say(LEAVE);
        let _ = termios::tcsetattr(io::stdin(), OptionalActions::Now, &found);
    }
}

fn say(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}

/// The most columns and rows that are drawn on: a window that claims more would take the memory of all its cells.
const WIDEST: u16 = 1000;
const HIGHEST: u16 = 500;

/// The size of the terminal in cells, as the system knows it; 80 × 24 if it does not.
#[must_use]
pub fn size() -> Size {
    match termios::tcgetwinsize(io::stdout()) {
        Ok(found) if found.ws_col > 0 && found.ws_row > 0 => Size {
            width: found.ws_col.min(WIDEST),
            height: found.ws_row.min(HIGHEST),
        },
        _ => Size {
            width: 80,
            height: 24,
        },
    }
}

/// Gives the terminal back before the message of a panic on this thread is printed. On any other thread
/// the face lives on, so that nothing may be printed over it: whoever waits for that thread tells.
pub fn leave_on_panic() {
    let face = std::thread::current().id();
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if std::thread::current().id() == face {
            leave();
            before(info);
        }
    }));
}
