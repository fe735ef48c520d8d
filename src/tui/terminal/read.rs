//! The event library's events as presses and pastes. It draws nothing and decides nothing.

use crate::tui::press::KeyPress;
use crate::tui::update::Message;
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
fn press(key: KeyEvent) -> Option<KeyPress> {
    let control = key.modifiers.contains(KeyModifiers::CONTROL);
    Some(match key.code {
        KeyCode::Char(c) if control => match c.to_ascii_lowercase() {
            // What terminals send for these two keys on some settings.
            'h' => KeyPress::Backspace,
            'j' | 'm' => KeyPress::Enter,
            other => KeyPress::Ctrl(other),
        },
        KeyCode::Char(c) if !key.modifiers.contains(KeyModifiers::ALT) => KeyPress::Char(c),
        KeyCode::Enter => KeyPress::Enter,
        KeyCode::Backspace => KeyPress::Backspace,
        KeyCode::Delete => KeyPress::Delete,
        KeyCode::Tab => KeyPress::Tab,
        KeyCode::BackTab => KeyPress::BackTab,
        KeyCode::Esc => KeyPress::Esc,
        KeyCode::Up => KeyPress::Up,
        KeyCode::Down => KeyPress::Down,
        KeyCode::Left => KeyPress::Left,
        KeyCode::Right => KeyPress::Right,
        KeyCode::Home => KeyPress::Home,
        KeyCode::End => KeyPress::End,
        KeyCode::PageUp => KeyPress::PageUp,
        KeyCode::PageDown => KeyPress::PageDown,
        _ => return None,
    })
}
