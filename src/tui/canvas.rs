//! Drawing by rows and columns: every text that reaches the screen is cleaned and cut here. And the two pictures that many
//! screens share: a batch cutting by cutting on a strip, and days since sticking on a ruler.

use super::field::TextField;
use crate::fold::batch::BatchCounts;
use crate::text;
use crate::text::clean::{Charset, fit, shown_in, width};
use crate::text::strip::{CuttingMark, strip, tally};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::{Position, Rect};
use ratatui::style::{Color, Modifier, Style};
use unicode_segmentation::UnicodeSegmentation;

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
        let at = self.text(row, end, tail(field.before(), room), Tone::Plain);
        let after = &field.text()[field.before().len()..];
        self.text(row, at, after, Tone::Plain);
        self.put_cursor(row, at);
    }

    /// Puts the terminal's cursor at a row and column.
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

/// The longest end of a text that takes at most so many columns.
fn tail(text: &str, columns: usize) -> &str {
    let (mut used, mut from) = (0, text.len());
    for (at, letter) in text.grapheme_indices(true).rev() {
        used += width(letter);
        if used > columns {
            break;
        }
        from = at;
    }
    &text[from..]
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

/// The tone whose colour repeats what a mark says by its shape.
#[must_use]
pub fn mark_meaning(mark: CuttingMark) -> Tone {
    match mark {
        CuttingMark::Bottom => Tone::Bottom,
        CuttingMark::Rooted => Tone::Rooted,
        CuttingMark::Callused => Tone::Callused,
        CuttingMark::Lost => Tone::Lost,
        CuttingMark::Bare | CuttingMark::Potted | CuttingMark::GivenUp => Tone::Plain,
    }
}

/// Draws the strip of these counts in at most so many columns from there on.
pub fn draw_strip(
    counts: &BatchCounts,
    columns: usize,
    row: usize,
    column: usize,
    canvas: &mut Canvas<'_>,
) {
    draw_tally(tally(counts), columns, row, column, canvas);
}

/// Draws the strip of a tally, in the order of [`CuttingMark::ALL`].
pub fn draw_tally(
    tally: [u32; 7],
    columns: usize,
    row: usize,
    column: usize,
    canvas: &mut Canvas<'_>,
) {
    let glyphs = canvas.ink().glyphs;
    let mut at = column;
    for run in strip(tally, columns).runs {
        at += usize::from(run.gap);
        let signs = run.mark.sign(glyphs).to_string().repeat(run.drawn);
        at = canvas.text(row, at, &signs, mark_meaning(run.mark));
    }
}

/// Columns before the days, for the words beside them.
pub const MARGIN: usize = 9;

/// Days since sticking laid on columns.
#[derive(Debug)]
pub struct Scale {
    /// Days shown, that of sticking counted.
    pub days: u32,
    room: usize,
}

impl Scale {
    /// So many days on at most so many columns: a whole number of columns to a day if they fit.
    pub fn new(days: u32, room: usize) -> Self {
        let each = (room / (days as usize + 1)).clamp(1, 4);
        let wanted = each * (days as usize + 1);
        Self {
            days: days + 1,
            room: wanted.min(room),
        }
    }

    /// Columns in use.
    pub fn columns(&self) -> usize {
        self.room
    }

    /// The first column of a day.
    pub fn column(&self, day: u32) -> usize {
        let at = u64::from(day.min(self.days - 1)) * self.room as u64 / u64::from(self.days);
        at as usize
    }

    /// The last day of a column.
    pub fn day(&self, column: usize) -> u32 {
        let next = (column as u64 + 1) * u64::from(self.days);
        next.saturating_sub(1)
            .checked_div(self.room as u64)
            .map_or(0, |day| day as u32)
    }

    /// Days between marks so that their words do not touch.
    pub fn step(&self, words: usize) -> u32 {
        let steps = [1, 2, 5, 7, 10, 14, 20, 28, 50, 100, 200, 400, 1000];
        let fits = |step: &&u32| **step as usize * self.room / self.days as usize > words;
        steps.iter().find(fits).copied().unwrap_or(1000)
    }

    /// The first day of a column.
    pub fn column_day(&self, column: usize) -> u32 {
        (column as u64 * u64::from(self.days))
            .checked_div(self.room as u64)
            .map_or(0, |d| d as u32)
    }
}

/// The scale that lays days 0 to `last` over the width of the canvas.
#[must_use]
pub fn scale_to(last: u32, canvas: &Canvas<'_>) -> Scale {
    let room = canvas.width().saturating_sub(MARGIN + 1).max(1);
    Scale::new(last, room)
}

/// The day ruler.
pub fn draw_ruler(scale: &Scale, last: u32, row: usize, canvas: &mut Canvas<'_>) {
    canvas.text(row, 0, "day", Tone::Heading);
    for day in (0..=last).step_by(scale.step(5) as usize) {
        let (at, word) = (MARGIN + scale.column(day), day.to_string());
        // Half a number is another number.
        if at + word.len() <= canvas.width() {
            canvas.text(row, at, &word, Tone::Heading);
        }
    }
}

/// The row on which a share from 0 to 1 stands, of `top` + 1 rows: 0 is the highest.
#[must_use]
pub fn level_row(share: f64, top: usize) -> usize {
    let up = (share.clamp(0.0, 1.0) * top as f64).round() as usize;
    top - up
}

/// Draws a sign from the day of 10 % to that of 90 %, with the days of 10, 50 and 90 % marked.
pub fn draw_run(
    days: [f64; 3],
    (sign, meaning): (&str, Tone),
    (scale, row): (&Scale, usize),
    canvas: &mut Canvas<'_>,
) {
    let [ten, fifty, ninety] = days.map(|day| MARGIN + scale.column(day.round().max(0.0) as u32));
    let run = sign.repeat(ninety.saturating_sub(ten) + 1);
    canvas.text(row, ten, &run, meaning);
    let mut free = 0;
    for (at, word) in [(ten, "10"), (fifty, "50"), (ninety, "90")] {
        // Marks too near each other would run into one number.
        let column = at.max(free);
        if column + word.len() > canvas.width() {
            break;
        }
        canvas.text(row, column, word, Tone::Heading);
        free = column + 3;
    }
}
