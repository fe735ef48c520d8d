//! One entry or fault in full. It changes nothing.

use crate::screens::canvas::{Canvas, wrap};
use crate::screens::common::Common;
use crate::screens::ink::Meaning;
use crate::screens::keys::{Command, Context};
use crate::screens::screen::{Screen, Turn};

/// The page.
#[derive(Debug)]
pub struct Whole {
    said: Vec<String>,
    top: usize,
}

impl Whole {
    /// A page of these paragraphs.
    #[must_use]
    pub fn new(said: Vec<String>) -> Self {
        Self { said, top: 0 }
    }
}

impl Screen for Whole {
    fn context(&self) -> Context {
        Context::List
    }

    fn title(&self, _common: &Common) -> String {
        "An entry in full".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let columns = usize::from(common.size.0);
        let lines: usize = self.said.iter().map(|text| wrap(text, columns).len()).sum();
        let page = usize::from(common.size.1 / 2);
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
        let lines = self.said.iter().flat_map(|text| wrap(text, canvas.width()));
        let lines: Vec<String> = lines.skip(self.top).take(canvas.height()).collect();
        for (row, line) in lines.iter().enumerate() {
            canvas.text(row, 0, line, Meaning::Plain);
        }
    }
}
