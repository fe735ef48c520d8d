//! Finds a batch by any part of its name, code or place, and entries by their notes and people. It opens what is
//! chosen and changes nothing.

use super::canvas::Canvas;
use super::canvas::Tone;
use super::common::Common;
use super::field::TextField;
use super::keys::{Command, KeyContext};
use super::pages::seek::{Seek, about};
use super::press::KeyPress;
use super::screen::{Screen, StackStep, Turn};
use crate::fold::batch::Batch;
use crate::input::bench_line::line_without_when;
use crate::input::fuzzy::rank;
use crate::model::id::Id;
use crate::text::clean::width;
use crate::text::short::short;
use std::sync::Arc;

/// The search being typed.
#[derive(Debug, Default)]
pub struct FindScreen {
    field: TextField,
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
    /// Open batches before closed ones, the nearest first.
    fn search(&mut self, common: &Common) {
        self.chosen = 0;
        let batches = common.book.batches();
        let names: Vec<String> = batches
            .iter()
            .map(|batch| {
                format!(
                    "{} {} {}",
                    batch.code,
                    batch.taxon.shown(),
                    batch.place.as_deref().unwrap_or("")
                )
            })
            .collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let mut ranked = rank(self.field.text().trim(), &names);
        // A whole code means that batch, open or closed.
        let code = common.vocabulary.full_code(self.field.text().trim());
        let is_meant = |at: usize| code.as_ref() == Some(&batches[at].code);
        ranked.sort_by_key(|(at, score)| {
            let open = batches[*at].is_open();
            (!is_meant(*at), !open, std::cmp::Reverse(*score))
        });
        self.found = ranked
            .into_iter()
            .take(60)
            .map(|(at, _)| Arc::clone(&batches[at]))
            .collect();
        self.noted = noted(self.field.text().trim(), common);
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

/// The entries with a note that holds all the words, or of a person of that name, the newest first.
fn noted(sought: &str, common: &Common) -> Vec<NotedEntry> {
    if sought.chars().count() < 3 {
        return Vec::new();
    }
    let seek = Seek::new(sought, &common.filter);
    let calendar = common.calendar();
    let entries = common.book.entries().iter().rev();
    let entries = entries.map(|standing| &*standing.entry).filter(|entry| {
        let by = entry
            .by
            .as_deref()
            .is_some_and(|by| by.eq_ignore_ascii_case(sought));
        by || entry.note.is_some() && seek.takes(&common.book, entry)
    });
    let found = entries.take(MOST_NOTED).map(|entry| NotedEntry {
        line: format!(
            "{} {}",
            calendar.day(entry.at.day()),
            line_without_when(entry, &common.vocabulary)
        ),
        batch: about(&common.book, entry).map(|batch| batch.key.clone()),
    });
    found.collect()
}

impl Screen for FindScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, _common: &Common) -> String {
        "Find a batch or a note".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.count().saturating_sub(1);
        match command {
            Command::Accept => return self.open(),
            Command::ChooseNext | Command::Complete => self.chosen = (self.chosen + 1).min(last),
            Command::ChoosePrevious => self.chosen = self.chosen.saturating_sub(1),
            Command::Erase | Command::Leave if self.field.is_empty() => return Turn::back(),
            Command::Erase => {
                self.field.press(KeyPress::Backspace);
                self.search(common);
            }
            Command::Leave => {
                self.field = TextField::default();
                self.search(common);
            }
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.field.press(press);
        self.search(common);
        Turn::stay()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
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
            canvas.text(1, 2, "Nothing is called so.", Tone::Plain);
        }
        let room = canvas.height().saturating_sub(1).max(1);
        let first = self.chosen / room * room;
        let shown: Vec<&Arc<Batch>> = self.found.iter().skip(first).take(room).collect();
        let after = |batch: &Batch| {
            if batch.is_open() {
                format!(", {}", common.calendar().day(batch.stuck_on))
            } else {
                ", closed".to_owned()
            }
        };
        let codes = shown.iter().map(|batch| width(&batch.code)).max();
        let code = codes.unwrap_or(0);
        let rest = shown.iter().map(|batch| width(&after(batch))).max();
        let columns = canvas.width().saturating_sub(3 + code + rest.unwrap_or(0));
        let taxa: Vec<_> = shown.iter().map(|batch| &batch.taxon).collect();
        let names = short(&taxa, columns, canvas.ink().glyphs);
        let after_batches = shown.len();
        for (row, (batch, name)) in shown.iter().zip(names).enumerate() {
            let mark = if first + row == self.chosen { ">" } else { " " };
            canvas.text(row + 1, 0, mark, Tone::Heading);
            let line = format!("{} {name}{}", batch.code, after(batch));
            canvas.text(row + 1, 2, &line, Tone::Plain);
        }
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
