//! The event library's events as presses and pastes. It draws nothing and decides nothing.

use crate::tui::message::Message;
use crate::tui::press::Press;
use crossterm::event::{self, Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use std::io;
use std::time::Duration;

/// How long the rest of a burst is waited for once a character came.
const BURST: Duration = Duration::from_millis(3);

/// Reads all that is there: the presses of one moment together, so that a burst can be told from typing.
///
/// # Errors
/// Whatever the system says of the terminal.
pub fn read() -> io::Result<Vec<Message>> {
    let mut found: Vec<Message> = Vec::new();
    let mut wait = Duration::ZERO;
    while event::poll(wait)? {
        match event::read()? {
            Event::Key(key) if key.kind != KeyEventKind::Release => {
                let Some(press) = press(key) else { continue };
                wait = press.char().map_or(Duration::ZERO, |_| BURST);
                match found.last_mut() {
                    Some(Message::Presses(presses)) => presses.push(press),
                    _ => found.push(Message::Presses(vec![press])),
                }
            }
            Event::Paste(text) => found.push(Message::Paste(text)),
            _ => {}
        }
    }
    Ok(found)
}

/// The press that an event of a key is; nothing for keys of no use here.
fn press(key: KeyEvent) -> Option<Press> {
    let control = key.modifiers.contains(KeyModifiers::CONTROL);
    Some(match key.code {
        KeyCode::Char(c) if control => match c.to_ascii_lowercase() {
            // What terminals send for these two keys on some settings.
            'h' => Press::Backspace,
            'j' | 'm' => Press::Enter,
            other => Press::Ctrl(other),
        },
        KeyCode::Char(c) if !key.modifiers.contains(KeyModifiers::ALT) => Press::Char(c),
        KeyCode::Enter => Press::Enter,
        KeyCode::Backspace => Press::Backspace,
        KeyCode::Delete => Press::Delete,
        KeyCode::Tab => Press::Tab,
        KeyCode::BackTab => Press::BackTab,
        KeyCode::Esc => Press::Esc,
        KeyCode::Up => Press::Up,
        KeyCode::Down => Press::Down,
        KeyCode::Left => Press::Left,
        KeyCode::Right => Press::Right,
        KeyCode::Home => Press::Home,
        KeyCode::End => Press::End,
        KeyCode::PageUp => Press::PageUp,
        KeyCode::PageDown => Press::PageDown,
        _ => return None,
    })
}
