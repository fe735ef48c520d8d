//! The help page, made of the one key table: the keys of where one was first, then all others. It does nothing else.

use super::canvas::Tone;
use super::canvas::{Canvas, wrap};
use super::common::Common;
use super::field::TextField;
use super::keys::KeyPress;
use super::keys::{Command, Key, KeyContext, TABLE};
use super::pad::SIGNS;
use super::paging::Sheet;
use super::screen::{Screen, Turn};
use crate::input::look_pad::BOXES;
use crate::text::clean::width;

/// The help page.
#[derive(Debug)]
pub struct HelpScreen {
    from: KeyContext,
    sheet: Sheet,
    /// What is looked for; empty takes all.
    field: TextField,
    typing: bool,
}

/// A line of the page.
enum HelpLine {
    Heading(&'static str),
    Text { key: String, text: String },
}

impl HelpScreen {
    /// A page that begins with the keys of that context.
    #[must_use]
    pub fn new(from: KeyContext) -> Self {
        Self {
            from,
            sheet: Sheet::default(),
            field: TextField::default(),
            typing: false,
        }
    }

    /// The contexts, those live where one was first.
    fn contexts(&self) -> Vec<KeyContext> {
        let mut order: Vec<KeyContext> = self.from.layers().to_vec();
        order.extend(
            KeyContext::ALL
                .iter()
                .filter(|c| !self.from.layers().contains(c)),
        );
        order
    }

    fn wanted(&self, row: &Key) -> bool {
        let sought = self.field.text().trim().to_lowercase();
        let text = format!("{} {} {}", keys_of(row), row.hint, row.help).to_lowercase();
        sought.split_whitespace().all(|word| text.contains(word))
    }

    fn lines(&self, columns: usize) -> Vec<HelpLine> {
        let mut out = Vec::new();
        if self.from.layers().contains(&KeyContext::Pad) {
            out.push(HelpLine::Heading("What the pad understands"));
            let boxes = BOXES
                .iter()
                .map(|one| (format!("2{}", one.letter), one.label));
            let signs = SIGNS.iter().map(|(sign, what)| ((*sign).to_owned(), *what));
            for (key, what) in boxes.chain(signs) {
                let text = format!("  {what}");
                out.push(HelpLine::Text { key, text });
            }
        }
        for context in self.contexts() {
            let own = TABLE.iter().filter(|row| row.context == context);
            let rows: Vec<&Key> = own.filter(|row| self.wanted(row)).collect();
            if !rows.is_empty() {
                out.push(HelpLine::Heading(context.heading()));
            }
            for row in rows {
                add(row, columns, &mut out);
            }
        }
        out
    }

    fn room(&self, common: &Common) -> usize {
        let sought = usize::from(self.seeks());
        common.body().saturating_sub(sought).max(1)
    }

    fn seeks(&self) -> bool {
        self.typing || !self.field.is_empty()
    }

    fn turn(&mut self, common: &Common, on: bool) {
        let lines = self.lines(usize::from(common.size.0)).len();
        self.sheet.turn(on, lines, self.room(common));
    }

    fn typed(&mut self, command: Command) {
        match command {
            Command::Accept => self.typing = false,
            Command::Erase if !self.field.is_empty() => {
                self.field.press(KeyPress::Backspace);
            }
            Command::Erase | Command::Leave => {
                self.field = TextField::default();
                self.typing = false;
            }
            _ => {}
        }
        self.sheet = Sheet::default();
    }
}

fn keys_of(row: &Key) -> String {
    let each: Vec<String> = row.presses.iter().map(ToString::to_string).collect();
    each.join(" ")
}

/// A key and its sentence, over as many lines as it needs.
fn add(row: &Key, columns: usize, out: &mut Vec<HelpLine>) {
    let key = keys_of(row);
    let indent = INDENT.max(width(&key) + 1);
    let own_line = indent > columns / 3;
    let room = columns.saturating_sub(if own_line { INDENT } else { indent });
    let mut key = Some(key);
    if own_line {
        let key = key.take().unwrap_or_default();
        let text = String::new();
        out.push(HelpLine::Text { key, text });
    }
    for text in wrap(row.help, room) {
        let key = key.take().unwrap_or_default();
        out.push(HelpLine::Text { key, text });
    }
}

/// Columns that the keys take.
const INDENT: usize = 4;

impl Screen for HelpScreen {
    fn context(&self) -> KeyContext {
        if self.typing {
            KeyContext::Field
        } else {
            KeyContext::Help
        }
    }

    fn title(&self, _common: &Common) -> String {
        "Keys (f finds one)".to_owned()
    }

    fn claims(&self, command: Command) -> bool {
        matches!(command, Command::Find | Command::Help)
    }

    fn is_idle(&self, _common: &Common, command: Command) -> bool {
        command == Command::Open
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        if self.typing {
            self.typed(command);
            return Turn::stay();
        }
        match command {
            Command::Find => self.typing = true,
            Command::Help => return Turn::back(),
            Command::Next | Command::PageOn | Command::Open => self.turn(common, true),
            Command::Previous | Command::PageBack => self.turn(common, false),
            Command::First => self.sheet = Sheet::default(),
            Command::Last => {
                let lines = self.lines(usize::from(common.size.0)).len();
                self.sheet.show(lines, lines, self.room(common));
            }
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, _common: &mut Common, press: KeyPress) -> Turn {
        if self.typing {
            self.field.press(press);
            self.sheet = Sheet::default();
        }
        Turn::stay()
    }

    fn typed_text(&self) -> &str {
        self.field.text()
    }

    fn draw(&self, _common: &Common, canvas: &mut Canvas<'_>) {
        let mut row = 0;
        if self.typing {
            canvas.field(0, 0, &self.field);
            row = 1;
        } else if self.seeks() {
            canvas.text(0, 0, &format!("with '{}'", self.field.text()), Tone::Plain);
            row = 1;
        }
        let lines = self.lines(canvas.width());
        if lines.is_empty() {
            canvas.text(row, 2, "No key does that.", Tone::Plain);
        }
        let rest = canvas.height().saturating_sub(row);
        self.sheet.sign(lines.len(), &mut canvas.rows(row, rest));
        for line in &lines[self.sheet.shown(lines.len(), rest)] {
            match line {
                HelpLine::Heading(text) => {
                    canvas.text(row, 0, text, Tone::Heading);
                }
                HelpLine::Text { key, text } => {
                    let end = canvas.text(row, 0, key, Tone::Key);
                    let indent = if key.is_empty() {
                        INDENT
                    } else {
                        INDENT.max(end + 1)
                    };
                    canvas.text(row, indent, text, Tone::Plain);
                }
            }
            row += 1;
        }
    }
}
