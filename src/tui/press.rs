//! A key press as the screens know it, free of any terminal library, and its spelling on screen.

use std::fmt;

/// One press of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Press {
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

impl Press {
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
const SPELLED: &[(Press, &str)] = &[
    (Press::Enter, "Enter"),
    (Press::Backspace, "Backspace"),
    (Press::Delete, "Delete"),
    (Press::Tab, "Tab"),
    (Press::BackTab, "Shift-Tab"),
    (Press::Esc, "Esc"),
    (Press::Up, "Up"),
    (Press::Down, "Down"),
    (Press::Left, "Left"),
    (Press::Right, "Right"),
    (Press::Home, "Home"),
    (Press::End, "End"),
    (Press::PageUp, "PageUp"),
    (Press::PageDown, "PageDown"),
    (Press::Char(' '), "Space"),
];

impl fmt::Display for Press {
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
