//! Colours by meaning, and the few signs that frame the screens. Colour only repeats what a sign says.

use crate::text::clean::Charset;
use ratatui::style::{Color, Modifier, Style};

/// How many colours there are to draw with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colours {
    /// None: the terminal's own ink on its own ground.
    None,
    /// The terminal's own sixteen.
    Sixteen,
}

/// What a piece of text is, as far as colour is concerned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// Anything.
    Plain,
    /// A heading.
    Heading,
    /// A key to press.
    Key,
    /// Roots at the bottom.
    Bottom,
    /// Rooted.
    Rooted,
    /// Callused.
    Callused,
    /// Lost.
    Lost,
    /// An arm of a trial, by its number.
    Arm(usize),
    /// Wants doing now: due, late, failing; a sum that cannot be; a refusal.
    Pressing,
    /// A caution where work can hurt someone.
    Caution,
    /// Saved.
    Done,
}

/// What there is to draw with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ink {
    /// Colours.
    pub colours: Colours,
    /// Characters.
    pub glyphs: Charset,
}

impl Ink {
    /// The style of a meaning: colours that are read on dark and on light grounds, and are told
    /// apart by eyes that confuse red and green.
    #[must_use]
    pub fn style(self, meaning: Meaning) -> Style {
        let colour = match meaning {
            Meaning::Arm(at) if at % 4 == 3 => return Style::new(),
            Meaning::Heading => return Style::new().add_modifier(Modifier::BOLD),
            Meaning::Plain | Meaning::Callused => return Style::new(),
            _ if self.colours == Colours::None => return Style::new(),
            Meaning::Key | Meaning::Bottom => Color::Cyan,
            Meaning::Rooted | Meaning::Done => Color::Green,
            Meaning::Arm(at) => [Color::Cyan, Color::Magenta, Color::Green][at % 4 % 3],
            Meaning::Lost => Color::Magenta,
            Meaning::Pressing | Meaning::Caution => Color::Red,
        };
        Style::new().fg(colour)
    }

    /// Whether only plain ASCII may be drawn.
    #[must_use]
    pub fn is_ascii(self) -> bool {
        self.glyphs == Charset::Ascii
    }

    /// What sets two facts of one line apart.
    #[must_use]
    pub fn dot(self) -> &'static str {
        if self.is_ascii() { " - " } else { " · " }
    }
}
