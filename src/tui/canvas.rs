//! Drawing by rows and columns: every text that reaches the screen is cleaned and cut here.
//! It knows nothing of what it draws.

use super::field::Field;
use super::ink::{Ink, Meaning};
use crate::text as words;
use crate::text::clean::{Charset, fit, shown_in, width};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::{Position, Rect};
use ratatui::style::{Modifier, Style};

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
    pub fn text(&mut self, row: usize, column: usize, text: &str, meaning: Meaning) -> usize {
        let style = self.ink.style(meaning);
        self.styled(row, column, text, style)
    }

    /// Writes text ending at the right edge, if it leaves `keep` columns at the left free.
    pub fn right(&mut self, row: usize, keep: usize, text: &str, meaning: Meaning) {
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
    pub fn wrapped(&mut self, row: usize, indent: usize, text: &str, meaning: Meaning) -> usize {
        let mut row = row;
        for line in wrap(text, self.width().saturating_sub(indent)) {
            self.text(row, indent, &line, meaning);
            row += 1;
        }
        row
    }

    /// Draws a field behind its mark, scrolled so that its cursor is seen.
    pub fn field(&mut self, row: usize, column: usize, field: &Field) {
        let end = self.text(row, column, "> ", Meaning::Key);
        let room = self.width().saturating_sub(end + 1);
        let mut before = field.before();
        while width(before) > room {
            let first = before.chars().next().map_or(0, char::len_utf8);
            before = &before[first..];
        }
        let at = self.text(row, end, before, Meaning::Plain);
        let after = &field.text()[field.before().len()..];
        self.text(row, at, after, Meaning::Plain);
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
    words::wrap::wrap(text, columns, Charset::Utf8)
}
