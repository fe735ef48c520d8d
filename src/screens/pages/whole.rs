//! Something told in full on a page that turns: an entry, a fault, a comparison. It changes nothing.

use crate::screens::canvas::{Canvas, wrap};
use crate::screens::common::Common;
use crate::screens::ink::Meaning;
use crate::screens::keys::{Command, Context};
use crate::screens::screen::{Screen, Turn};
use crate::words::clean::Charset;
use std::fmt;

/// Lays a text out in lines of at most so many columns.
type LayOut = dyn Fn(usize, Charset) -> Vec<String>;

/// The page.
pub struct Whole {
    title: String,
    lay_out: Box<LayOut>,
    top: usize,
}

impl fmt::Debug for Whole {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Whole({}, from line {})", self.title, self.top)
    }
}

impl Whole {
    /// A page of an entry's or a fault's paragraphs.
    #[must_use]
    pub fn entry(said: Vec<String>) -> Self {
        let lines = move |columns, _| said.iter().flat_map(|text| wrap(text, columns)).collect();
        Self::new("An entry in full", lines)
    }

    /// A page of that title, laid out for each width anew.
    pub fn new(
        title: impl Into<String>,
        lay_out: impl Fn(usize, Charset) -> Vec<String> + 'static,
    ) -> Self {
        Self {
            title: title.into(),
            lay_out: Box::new(lay_out),
            top: 0,
        }
    }
}

impl Screen for Whole {
    fn context(&self) -> Context {
        Context::List
    }

    fn title(&self, _common: &Common) -> String {
        self.title.clone()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let lines = (self.lay_out)(usize::from(common.size.0), common.ink.glyphs).len();
        let frame = if common.is_low() { 1 } else { 2 };
        // A line of the page before stays in sight.
        let page = usize::from(common.size.1).saturating_sub(frame + 1).max(1);
        match command {
            Command::Next => self.top += 1,
            Command::Previous => self.top = self.top.saturating_sub(1),
            Command::PageOn => self.top += page,
            Command::PageBack => self.top = self.top.saturating_sub(page),
            Command::First => self.top = 0,
            Command::Last => self.top = lines,
            Command::Open => return Turn::back(),
            _ => {}
        }
        self.top = self.top.min(lines.saturating_sub(1));
        Turn::stay()
    }

    fn draw(&self, _common: &Common, canvas: &mut Canvas<'_>) {
        let lines = (self.lay_out)(canvas.width(), canvas.ink().glyphs).into_iter();
        for (row, line) in lines.skip(self.top).take(canvas.height()).enumerate() {
            canvas.text(row, 0, &line, Meaning::Plain);
        }
    }
}
