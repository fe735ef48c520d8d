//! The search, which finds a batch by any part of its name, code or place, and entries by their notes and people.

use super::batch_list::{batches_called, draw_batches, holds};
use super::canvas::{Canvas, Tone};
use super::common::Common;
use super::field::{Erasure, TextField};
use super::keys::{Command, KeyContext, KeyPress};
use super::pad::PadScreen;
use super::pages::feed::{Seek, batch_about};
use super::screen::{Screen, StackStep, Turn};
use crate::fold::batch::Batch;
use crate::input::bench_line::line_without_when;
use crate::model::entry::Discard;
use crate::model::id::Id;
use crate::model::listed::DiscardReason;
use crate::model::packed::PackedEntry;
use std::sync::Arc;

/// The search being typed.
#[derive(Debug, Default)]
pub struct FindScreen {
    field: TextField,
    /// Whether all that stands in the field was pasted at once, as some scanners give a code.
    is_pasted: bool,
    chosen: usize,
    found: Vec<Arc<Batch>>,
    /// Entries whose note, or whose person, is looked for, the newest first.
    noted: Vec<NotedEntry>,
}

/// An entry that the search found by its note or by who entered it.
#[derive(Clone, Debug)]
struct NotedEntry {
    line: String,
    batch: Option<Id>,
}

/// The most entries that are listed below the batches.
const MOST_NOTED: usize = 30;

impl FindScreen {
    fn search(&mut self, common: &Common) {
        self.chosen = 0;
        let text = self.field.text().trim();
        self.found = batches_called(text, common);
        self.noted = noted(text, common);
        if !self.noted.is_empty() {
            // Letters strewn over a name are no reason to list it before what was noted in these words.
            self.found.retain(|batch| holds(batch, text));
        }
    }

    /// How many batches and entries there are to choose from.
    fn count(&self) -> usize {
        self.found.len() + self.noted.len()
    }

    /// Opens what is chosen: a batch's page, or the journal's pages with the same search.
    fn open(&self) -> Turn {
        if let Some(batch) = self.found.get(self.chosen) {
            return Turn::step(StackStep::Found(batch.key.clone()));
        }
        let noted = self.chosen.checked_sub(self.found.len());
        match noted.and_then(|at| self.noted.get(at)) {
            Some(NotedEntry {
                batch: Some(batch), ..
            }) => Turn::step(StackStep::Found(batch.clone())),
            Some(_) => Turn::step(StackStep::Seek(self.field.text().to_owned())),
            None => Turn::back(),
        }
    }
}

/// The entries with a note, and the accidents, that hold all the words, or of a person of that name, the newest first.
fn noted(sought: &str, common: &Common) -> Vec<NotedEntry> {
    if sought.chars().count() < 3 {
        return Vec::new();
    }
    let seek = Seek::new(sought, &common.filter);
    let calendar = common.calendar();
    let entries = common.book.entries().iter().rev();
    let entries = entries.map(|standing| &standing.entry).filter(|entry| {
        let is_told = entry.note().is_some() || is_accident(entry);
        is_by(entry, sought) || is_told && seek.takes(&common.book, entry)
    });
    let found = entries.take(MOST_NOTED).map(|entry| NotedEntry {
        line: format!(
            "{} {}",
            calendar.day(entry.at.day()),
            line_without_when(&entry.whole(), &common.vocabulary)
        ),
        batch: batch_about(&common.book, entry).map(|batch| batch.key.clone()),
    });
    found.collect()
}

/// Whether a person entered it whose name, or a part of it, begins so.
fn is_by(entry: &PackedEntry, sought: &str) -> bool {
    let sought = sought.to_lowercase();
    let by = entry.by().unwrap_or_default().to_lowercase();
    by.starts_with(&sought) || by.split_whitespace().any(|part| part.starts_with(&sought))
}

fn is_accident(entry: &PackedEntry) -> bool {
    let discard = entry.get::<Discard>();
    discard.is_some_and(|it| it.why == Some(DiscardReason::Accident))
}

impl Screen for FindScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, _common: &Common) -> String {
        "Find a batch or a remark".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.count().saturating_sub(1);
        match command {
            Command::Accept => {
                let scanned = common.open_batch(self.field.text());
                return match scanned.filter(|_| self.is_pasted) {
                    Some(batch) => Turn::step(StackStep::Instead(Box::new(PadScreen::new(batch)))),
                    None => self.open(),
                };
            }
            Command::ChooseNext | Command::Complete => self.chosen = (self.chosen + 1).min(last),
            Command::ChoosePrevious => self.chosen = self.chosen.saturating_sub(1),
            _ => match self.field.erase(command) {
                Some(Erasure::WasEmpty) => return Turn::back(),
                Some(Erasure::Done) => self.search(common),
                None => {}
            },
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.is_pasted = false;
        self.field.press(press);
        self.search(common);
        Turn::stay()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.is_pasted = self.field.is_empty();
        self.field.insert(text);
        self.search(common);
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        let chosen = self.chosen;
        self.search(common);
        self.chosen = chosen.min(self.count().saturating_sub(1));
        Turn::stay()
    }

    fn typed_text(&self) -> &str {
        self.field.text()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        if self.count() == 0 {
            canvas.text(1, 2, "Nothing has that name.", Tone::Plain);
        }
        let room = canvas.height().saturating_sub(1).max(1);
        let first = self.chosen / room * room;
        let shown: Vec<&Arc<Batch>> = self.found.iter().skip(first).take(room).collect();
        let chosen = self.chosen.checked_sub(first);
        draw_batches(&shown, chosen, 1, common, canvas);
        let after_batches = shown.len();
        let from = first.saturating_sub(self.found.len());
        let noted = self.noted.iter().enumerate().skip(from);
        for (row, (at, entry)) in noted.take(room - after_batches).enumerate() {
            let row = after_batches + row + 1;
            let mark = if self.found.len() + at == self.chosen {
                ">"
            } else {
                " "
            };
            canvas.text(row, 0, mark, Tone::Heading);
            canvas.text(row, 2, &entry.line, Tone::Plain);
        }
    }
}
