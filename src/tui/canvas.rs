//! Drawing by rows and columns: every text that reaches the screen is cleaned and cut here.
//! It knows nothing of what it draws.

use super::field::TextField;
use crate::text;
use crate::text::clean::{Charset, fit, shown_in, width};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::{Position, Rect};
use ratatui::style::{Color, Modifier, Style};

/// A rectangle of the screen to draw on.
#[derive(Debug)]
pub struct Canvas<'a> {
    buffer: &'a mut Buffer,
    area: Rect,
    ink: Ink,
    cursor: &'a mut Option<Position>,
}

impl<'a> Canvas<'a> {
    /// A canvas over that part of the buffer; a cursor put on it lands in `cursor`.
    pub fn new(
        buffer: &'a mut Buffer,
        area: Rect,
        ink: Ink,
        cursor: &'a mut Option<Position>,
    ) -> Self {
        let area = area.intersection(buffer.area);
        Self {
            buffer,
            area,
            ink,
            cursor,
        }
    }

    /// Columns.
    #[must_use]
    pub fn width(&self) -> usize {
        usize::from(self.area.width)
    }

    /// Rows.
    #[must_use]
    pub fn height(&self) -> usize {
        usize::from(self.area.height)
    }

    /// What there is to draw with.
    #[must_use]
    pub fn ink(&self) -> Ink {
        self.ink
    }

    /// The part from that row on, of that many rows.
    pub fn rows(&mut self, from: usize, count: usize) -> Canvas<'_> {
        let from = from.min(self.height());
        let count = count.min(self.height() - from);
        let area = Rect {
            y: self.area.y + from as u16,
            height: count as u16,
            ..self.area
        };
        self.part(area)
    }

    /// The part from that column on, of that many columns.
    pub fn columns(&mut self, from: usize, count: usize) -> Canvas<'_> {
        let from = from.min(self.width());
        let count = count.min(self.width() - from);
        let area = Rect {
            x: self.area.x + from as u16,
            width: count as u16,
            ..self.area
        };
        self.part(area)
    }

    fn part(&mut self, area: Rect) -> Canvas<'_> {
        Canvas {
            buffer: self.buffer,
            area,
            ink: self.ink,
            cursor: self.cursor,
        }
    }

    /// Writes text from there on, cut at the edge with a sign; gives the column after it.
    pub fn text(&mut self, row: usize, column: usize, text: &str, meaning: Tone) -> usize {
        let style = self.ink.style(meaning);
        self.styled(row, column, text, style)
    }

    /// Writes text ending at the right edge, if it leaves `keep` columns at the left free.
    pub fn right(&mut self, row: usize, keep: usize, text: &str, meaning: Tone) {
        let needs = width(text);
        if needs + keep <= self.width() {
            let column = self.width() - needs;
            self.text(row, column, text, meaning);
        }
    }

    /// Writes text reversed: the part of a line that is acted on.
    pub fn reversed(&mut self, row: usize, column: usize, text: &str) -> usize {
        self.styled(
            row,
            column,
            text,
            Style::new().add_modifier(Modifier::REVERSED),
        )
    }

    fn styled(&mut self, row: usize, column: usize, text: &str, style: Style) -> usize {
        if row >= self.height() || column >= self.width() {
            return column;
        }
        let room = self.width() - column;
        let cut = fit(text, room, self.ink.glyphs);
        let clean = shown_in(&cut, self.ink.glyphs);
        let (x, y) = (self.area.x + column as u16, self.area.y + row as u16);
        let (end, _) = self.buffer.set_stringn(x, y, clean, room, style);
        self.mend_halves(x, end, y);
        usize::from(end - self.area.x)
    }

    /// What was just written from `x` to `end` may have covered one half of a wide sign: no half stays.
    fn mend_halves(&mut self, x: u16, end: u16, y: u16) {
        let wide = |cell: Option<&Cell>| cell.is_some_and(|cell| width(cell.symbol()) > 1);
        if end <= x {
            return;
        }
        if let Some(before) = x.checked_sub(1)
            && wide(self.buffer.cell((before, y)))
            && let Some(cell) = self.buffer.cell_mut((before, y))
        {
            cell.set_symbol(" ");
        }
    }

    /// Writes text over as many rows as it needs, broken between words; gives the row after it.
    pub fn wrapped(&mut self, row: usize, indent: usize, text: &str, meaning: Tone) -> usize {
        let mut row = row;
        for line in wrap(text, self.width().saturating_sub(indent)) {
            self.text(row, indent, &line, meaning);
            row += 1;
        }
        row
    }

    /// Draws a field behind its mark, scrolled so that its cursor is seen.
    pub fn field(&mut self, row: usize, column: usize, field: &TextField) {
        let end = self.text(row, column, "> ", Tone::Key);
        let room = self.width().saturating_sub(end + 1);
        let mut before = field.before();
        while width(before) > room {
            let first = before.chars().next().map_or(0, char::len_utf8);
            before = &before[first..];
        }
        let at = self.text(row, end, before, Tone::Plain);
        let after = &field.text()[field.before().len()..];
        self.text(row, at, after, Tone::Plain);
        self.put_cursor(row, at);
    }

    /// Puts the terminal's cursor there.
    pub fn put_cursor(&mut self, row: usize, column: usize) {
        if row < self.height() && self.width() > 0 {
            let column = column.min(self.width() - 1);
            *self.cursor = Some(Position {
                x: self.area.x + column as u16,
                y: self.area.y + row as u16,
            });
        }
    }
}

/// Breaks text between words into lines of at most so many columns; none for blank text.
#[must_use]
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    if text.trim().is_empty() {
        return Vec::new();
    }
    text::clean::wrap(text, columns, Charset::Utf8)
}

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
pub enum Tone {
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
    pub fn style(self, meaning: Tone) -> Style {
        let colour = match meaning {
            Tone::Arm(at) if at % 4 == 3 => return Style::new(),
            Tone::Heading => return Style::new().add_modifier(Modifier::BOLD),
            Tone::Plain | Tone::Callused => return Style::new(),
            _ if self.colours == Colours::None => return Style::new(),
            Tone::Key | Tone::Bottom => Color::Cyan,
            Tone::Rooted | Tone::Done => Color::Green,
            Tone::Arm(at) => [Color::Cyan, Color::Magenta, Color::Green][at % 4 % 3],
            Tone::Lost => Color::Magenta,
            Tone::Pressing | Tone::Caution => Color::Red,
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
