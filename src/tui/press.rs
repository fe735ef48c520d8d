//! A key press as the screens know it, free of any terminal library, and its spelling on screen.

use std::fmt;

/// One press of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KeyPress {
    /// A character, as typed.
    Char(char),
    /// A character with the control key held, in lower case.
    Ctrl(char),
    /// Enter.
    Enter,
    /// Backspace.
    Backspace,
    /// Delete.
    Delete,
    /// Tab.
    Tab,
    /// Tab with shift.
    BackTab,
    /// Escape.
    Esc,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// Arrow left.
    Left,
    /// Arrow right.
    Right,
    /// Home.
    Home,
    /// End.
    End,
    /// Page up.
    PageUp,
    /// Page down.
    PageDown,
}

impl KeyPress {
    /// The press as the key table knows it: letters in lower case, since a phone's keyboard
    /// writes a capital when it pleases.
    #[must_use]
    pub fn folded(self) -> Self {
        match self {
            Self::Char(c) => Self::Char(c.to_lowercase().next().unwrap_or(c)),
            other => other,
        }
    }

    /// The character, if it is one.
    #[must_use]
    pub fn char(self) -> Option<char> {
        match self {
            Self::Char(c) => Some(c),
            _ => None,
        }
    }
}

/// The spelling of keys that are no character.
const SPELLED: &[(KeyPress, &str)] = &[
    (KeyPress::Enter, "Enter"),
    (KeyPress::Backspace, "Backspace"),
    (KeyPress::Delete, "Delete"),
    (KeyPress::Tab, "Tab"),
    (KeyPress::BackTab, "Shift-Tab"),
    (KeyPress::Esc, "Esc"),
    (KeyPress::Up, "Up"),
    (KeyPress::Down, "Down"),
    (KeyPress::Left, "Left"),
    (KeyPress::Right, "Right"),
    (KeyPress::Home, "Home"),
    (KeyPress::End, "End"),
    (KeyPress::PageUp, "PageUp"),
    (KeyPress::PageDown, "PageDown"),
    (KeyPress::Char(' '), "Space"),
];

impl fmt::Display for KeyPress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((_, word)) = SPELLED.iter().find(|(press, _)| press == self) {
            return f.write_str(word);
        }
        match self {
            Self::Ctrl(c) => write!(f, "Ctrl-{}", c.to_uppercase()),
            Self::Char(c) => write!(f, "{c}"),
            _ => Ok(()),
        }
    }
}
