//! Content that may be longer than the screen: its pages turn whole, and a sign says what lies above and below. And the
//! screen that shows a plain text so: an entry or a fault with its line as it stands in the file, a comparison.

use super::canvas::{Canvas, Tone, wrap};
use super::common::Common;
use super::keys::{Command, KeyContext};
use super::screen::{Screen, Turn};
use crate::model::fault::Origin;
use crate::text::clean::Charset;
use std::fmt;
use std::ops::Range;

/// Where a sheet stands: the number of the page shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    page: usize,
}

/// Lines of content to a page: all of them if they fit, else one fewer, for the sign.
fn per_page(lines: usize, rows: usize) -> usize {
    if lines <= rows {
        rows.max(1)
    } else {
        rows.saturating_sub(1).max(1)
    }
}

impl Sheet {
    /// The lines shown of so many in so many rows.
    #[must_use]
    pub fn shown(self, lines: usize, rows: usize) -> Range<usize> {
        let each = per_page(lines, rows);
        let last = lines.saturating_sub(1) / each;
        let from = self.page.min(last) * each;
        from..lines.min(from + each)
    }

    /// Turns to the page that holds a line.
    pub fn show(&mut self, line: usize, lines: usize, rows: usize) {
        self.page = line.min(lines.saturating_sub(1)) / per_page(lines, rows);
    }

    /// Turns a page on or back; whether there was one.
    pub fn turn(&mut self, on: bool, lines: usize, rows: usize) -> bool {
        let last = lines.saturating_sub(1) / per_page(lines, rows);
        let before = self.page.min(last);
        self.page = if on {
            (before + 1).min(last)
        } else {
            before.saturating_sub(1)
        };
        self.page != before
    }

    /// Draws what lies above and below, on the last row, if anything does.
    pub fn sign(self, lines: usize, canvas: &mut Canvas<'_>) {
        let rows = canvas.height();
        let shown = self.shown(lines, rows);
        let (above, below) = (shown.start, lines - shown.end);
        let row = rows.saturating_sub(1);
        let mut column = 0;
        for (key, count, where_to) in [("Space", below, "below"), ("-", above, "above")] {
            if count > 0 {
                column = canvas.text(row, column, key, Tone::Key);
                let noun = if count == 1 { "line" } else { "lines" };
                let said = format!(" {count} {noun} {where_to}  ");
                column = canvas.text(row, column, &said, Tone::Plain);
            }
        }
    }
}

/// What is chosen after a command of a list, counted from 0, of rows up to `last` on pages of `page`;
/// the same for any other command.
#[must_use]
pub fn moved(chosen: usize, last: usize, page: usize, command: Command) -> usize {
    let page = page.max(1);
    let moved = match command {
        Command::Next => chosen + 1,
        Command::Previous => chosen.saturating_sub(1),
        Command::First => 0,
        Command::Last => last,
        Command::PageOn => (chosen / page + 1) * page,
        Command::PageBack => (chosen / page).saturating_sub(1) * page,
        _ => chosen,
    };
    moved.min(last)
}

/// Lays a text out in lines of at most so many columns.
type LayOut = dyn Fn(usize, Charset) -> Vec<String>;

/// The most of a line that is shown, in bytes: a damaged one may be millions long.
const MOST_SHOWN: usize = 4000;

/// The page.
pub struct TextScreen {
    title: String,
    lay_out: Box<LayOut>,
    /// The line of the journal that it is about, and that line as it stands.
    origin: Option<Origin>,
    raw: Option<String>,
    sheet: Sheet,
}

impl fmt::Debug for TextScreen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "TextScreen({}, {:?})", self.title, self.sheet)
    }
}

impl TextScreen {
    /// A page of an entry's or a fault's paragraphs, and of the line that it is read from.
    #[must_use]
    pub fn entry(said: Vec<String>, origin: Origin) -> Self {
        let lines = move |columns, _| said.iter().flat_map(|text| wrap(text, columns)).collect();
        Self {
            origin: Some(origin),
            ..Self::new("A line in full", lines)
        }
    }

    /// A page of that title, laid out for each width anew.
    pub fn new(
        title: impl Into<String>,
        lay_out: impl Fn(usize, Charset) -> Vec<String> + 'static,
    ) -> Self {
        Self {
            title: title.into(),
            lay_out: Box::new(lay_out),
            origin: None,
            raw: None,
            sheet: Sheet::default(),
        }
    }

    fn lines(&self, common: &Common) -> Vec<String> {
        let columns = usize::from(common.size.0);
        let mut lines = (self.lay_out)(columns, common.ink.glyphs);
        lines.extend(self.raw.iter().flat_map(|text| wrap(text, columns)));
        lines
    }
}

/// A line's bytes in words; what is no text stands as the replacement sign.
fn shown(bytes: &[u8]) -> String {
    let part = &bytes[..bytes.len().min(MOST_SHOWN)];
    let text = String::from_utf8_lossy(part);
    match bytes.len() - part.len() {
        0 => format!("The line as it stands: {text}"),
        more => format!("The line as it begins, {more} bytes more: {text}"),
    }
}

impl Screen for TextScreen {
    fn context(&self) -> KeyContext {
        KeyContext::List
    }

    fn title(&self, _common: &Common) -> String {
        self.title.clone()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let (lines, rows) = (self.lines(common).len(), common.body());
        match command {
            Command::Next | Command::PageOn => {
                self.sheet.turn(true, lines, rows);
            }
            Command::Previous | Command::PageBack => {
                self.sheet.turn(false, lines, rows);
            }
            Command::First => self.sheet.show(0, lines, rows),
            Command::Last => self.sheet.show(lines, lines, rows),
            Command::Open => return Turn::back(),
            _ => {}
        }
        Turn::stay()
    }

    fn raw(&mut self, origin: Origin, bytes: Option<&[u8]>) {
        if self.origin == Some(origin) {
            self.raw = bytes.map(shown);
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let lines = self.lines(common);
        let shown = self.sheet.shown(lines.len(), canvas.height());
        for (row, line) in lines[shown].iter().enumerate() {
            canvas.text(row, 0, line, Tone::Plain);
        }
        self.sheet.sign(lines.len(), canvas);
    }
}

#[cfg(test)]
mod tests {
    use super::Sheet;

    #[test]
    fn every_line_stands_on_one_page_and_pages_leave_room_for_the_sign() {
        for (lines, rows) in [(0, 5), (5, 5), (6, 5), (30, 7), (1, 1), (9, 1)] {
            let mut sheet = Sheet::default();
            let mut seen = Vec::new();
            loop {
                let shown = sheet.shown(lines, rows);
                assert!(lines <= rows || shown.len() < rows.max(2), "{lines} {rows}");
                seen.extend(shown);
                if !sheet.turn(true, lines, rows) {
                    break;
                }
            }
            assert_eq!(seen, (0..lines).collect::<Vec<_>>(), "{lines} {rows}");
        }
    }

    #[test]
    fn a_line_wanted_is_shown() {
        let mut sheet = Sheet::default();
        for line in [0, 29, 7, 400] {
            sheet.show(line, 30, 7);
            assert!(sheet.shown(30, 7).contains(&line.min(29)));
        }
    }
}
