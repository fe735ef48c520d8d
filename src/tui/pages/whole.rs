//! Something told in full on pages that turn: an entry or a fault with its line as it stands in the file, a
//! comparison. It changes nothing.

use crate::model::fault::Origin;
use crate::text::clean::Charset;
use crate::tui::canvas::Tone;
use crate::tui::canvas::{Canvas, wrap};
use crate::tui::common::Common;
use crate::tui::keys::{Command, KeyContext};
use crate::tui::paging::Sheet;
use crate::tui::screen::{Screen, Turn};
use std::fmt;

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
