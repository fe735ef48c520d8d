//! A line of text being typed: its value, its cursor, the editing of it. It knows no meaning.

use super::keys::{Command, KeyPress};
use std::ops::Range;
use unicode_segmentation::UnicodeSegmentation;

/// The longest text that a field takes, in bytes, unless it is made for more.
const USUAL: usize = 4000;
/// The longest note that is taken, in bytes: with its line around it, as much as a line of the journal may have.
pub const NOTE: usize = (1 << 20) - (1 << 12);

/// A field.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TextField {
    text: String,
    /// Byte index of the cursor, always between two graphemes.
    cursor: usize,
    /// How many bytes it takes beyond the usual.
    more: usize,
}

/// What a key that erases came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Erasure {
    /// The field was empty already: its screen is left.
    WasEmpty,
    /// A sign is gone, or all of them.
    Done,
}

impl TextField {
    /// An empty field for a note.
    #[must_use]
    pub fn for_note() -> Self {
        Self {
            more: NOTE - USUAL,
            ..Self::default()
        }
    }

    /// How many bytes it still takes.
    #[must_use]
    pub fn room(&self) -> usize {
        (USUAL + self.more).saturating_sub(self.text.len())
    }

    /// A field holding that text, the cursor at its end.
    #[must_use]
    pub fn new(text: &str) -> Self {
        let mut field = Self::default();
        field.insert(text);
        field
    }

    /// A field holding that text, the cursor before the part that ends it.
    #[must_use]
    pub fn before_the_end(text: &str, end: &str) -> Self {
        let mut field = Self::new(text);
        field.cursor = field.text.strip_suffix(end).map_or(field.cursor, str::len);
        field
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Carries out a key that erases a sign, or all that stands; nothing for any other.
    pub fn erase(&mut self, command: Command) -> Option<Erasure> {
        match command {
            Command::Erase | Command::Leave if self.is_empty() => return Some(Erasure::WasEmpty),
            Command::Erase => {
                self.press(KeyPress::Backspace);
            }
            Command::Leave => *self = Self::default(),
            _ => return None,
        }
        Some(Erasure::Done)
    }

    /// The text before the cursor.
    #[must_use]
    pub fn before(&self) -> &str {
        &self.text[..self.cursor]
    }

    /// Whether it holds nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// Puts text at the cursor; line breaks and tabs become spaces, other controls are dropped.
    pub fn insert(&mut self, text: &str) {
        let mut taken = String::new();
        let room = self.room();
        for c in text.chars() {
            let c = if c.is_whitespace() { ' ' } else { c };
            if c.is_control() || taken.len() + c.len_utf8() > room {
                continue;
            }
            taken.push(c);
        }
        self.text.insert_str(self.cursor, &taken);
        self.cursor += taken.len();
    }

    /// Whether a letter or digit stands at the cursor.
    #[must_use]
    pub fn is_within_word(&self) -> bool {
        let after = self.text.get(self.cursor..).unwrap_or_default();
        after.chars().next().is_some_and(char::is_alphanumeric)
    }

    /// Replaces the text from that byte to the cursor: a completion.
    pub fn complete(&mut self, from: usize, text: &str) {
        if from <= self.cursor && self.text.is_char_boundary(from) {
            self.text.replace_range(from..self.cursor, "");
            self.cursor = from;
            self.insert(text);
        }
    }

    /// Replaces a part of the text; the cursor stands behind it.
    pub fn replace(&mut self, range: Range<usize>, text: &str) {
        let is_part = self.text.get(range.clone()).is_some();
        if is_part {
            self.text.replace_range(range.clone(), "");
            self.cursor = range.start;
            self.insert(text);
        }
    }

    /// Edits by a key; whether the key meant anything to it.
    pub fn press(&mut self, press: KeyPress) -> bool {
        match press {
            KeyPress::Char(c) => self.insert(c.encode_utf8(&mut [0; 4])),
            KeyPress::Backspace => self.cut(self.left(), self.cursor),
            KeyPress::Delete => self.cut(self.cursor, self.right()),
            KeyPress::Left => self.cursor = self.left(),
            KeyPress::Right => self.cursor = self.right(),
            KeyPress::Home | KeyPress::Ctrl('a') => self.cursor = 0,
            KeyPress::End | KeyPress::Ctrl('e') => self.cursor = self.text.len(),
            KeyPress::Ctrl('u') => self.cut(0, self.cursor),
            KeyPress::Ctrl('w') => self.cut(self.word(), self.cursor),
            _ => return false,
        }
        true
    }

    fn cut(&mut self, from: usize, to: usize) {
        self.text.replace_range(from..to, "");
        self.cursor = from;
    }

    fn left(&self) -> usize {
        let before = self.before().grapheme_indices(true).next_back();
        before.map_or(0, |(at, _)| at)
    }

    fn right(&self) -> usize {
        let after = self.text[self.cursor..].graphemes(true).next();
        self.cursor + after.map_or(0, str::len)
    }

    /// Where the word before the cursor begins.
    fn word(&self) -> usize {
        let trimmed = self.before().trim_end();
        trimmed.rfind(' ').map_or(0, |at| at + 1)
    }
}
