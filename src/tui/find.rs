//! The search, which finds a batch by any part of its name, code or place, and entries by their notes and people.

use super::batch_list::{batches_called, draw_batches, holds};
use super::canvas::{Canvas, Tone};
use super::common::Common;
use super::effect::{Answer, Awaited, GoOn};
use super::field::{Erasure, TextField};
use super::keys::{Command, KeyContext, KeyPress};
use super::pad::PadScreen;
use super::pages::feed::{Seek, batch_about};
use super::screen::{Screen, StackStep, Turn};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::input::bench_line::{Vocabulary, line_without_when};
use crate::model::entry::Discard;
use crate::model::filter::Filter;
use crate::model::id::Id;
use crate::model::listed::DiscardReason;
use crate::model::packed::PackedEntry;
use crate::text::dates::Calendar;
use std::sync::Arc;

/// The search being typed. What it finds comes from off the input path: of a long journal that takes longer than a key may.
#[derive(Debug, Default)]
pub struct FindScreen {
    field: TextField,
    /// Whether all that stands in the field was pasted at once, as some scanners give a code.
    is_pasted: bool,
    chosen: usize,
    asked: Awaited,
    /// What was found last; of an earlier text while the answer is on its way, and nothing before the first.
    found: Option<Found>,
}

/// What one text found.
#[derive(Clone, Debug)]
struct Found {
    text: String,
    batches: Vec<Arc<Batch>>,
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

/// What is looked for, and with what.
struct Search {
    text: String,
    only: Filter,
    calendar: Calendar,
    vocabulary: Arc<Vocabulary>,
}

impl Search {
    fn new(text: &str, common: &Common) -> Self {
        Self {
            text: text.trim().to_owned(),
            only: common.filter.clone(),
            calendar: common.calendar(),
            vocabulary: Arc::clone(&common.vocabulary),
        }
    }

    /// All that is found, unless it is told not to go on.
    fn run(&self, book: &Book, go_on: GoOn<'_>) -> Option<Found> {
        let mut batches = batches_called(&self.text, book, &self.vocabulary);
        let noted = self.noted(book, go_on)?;
        if !noted.is_empty() {
            // Letters strewn over a name are no reason to list it before what was noted in these words.
            batches.retain(|batch| holds(batch, &self.text));
        }
        Some(Found {
            text: self.text.clone(),
            batches,
            noted,
        })
    }

    /// The entries with a note, and the accidents, that hold all the words, or of a person of that name, the newest
    /// first.
    fn noted(&self, book: &Book, go_on: GoOn<'_>) -> Option<Vec<NotedEntry>> {
        let mut found = Vec::new();
        if self.text.chars().count() < 3 {
            return Some(found);
        }
        let seek = Seek::new(&self.text, &self.only);
        let person = self.text.to_lowercase();
        for few in book.entries().rchunks(ENTRIES_BETWEEN) {
            if !go_on() {
                return None;
            }
            let entries = few.iter().rev().map(|standing| &standing.entry);
            let meant = entries.filter(|entry| {
                let is_told = entry.note().is_some() || is_accident(entry);
                is_by(entry, &person) || is_told && seek.takes(book, entry)
            });
            let room = MOST_NOTED - found.len();
            found.extend(meant.take(room).map(|entry| self.line_of(book, entry)));
            if found.len() == MOST_NOTED {
                break;
            }
        }
        Some(found)
    }

    fn line_of(&self, book: &Book, entry: &PackedEntry) -> NotedEntry {
        NotedEntry {
            line: format!(
                "{} {}",
                self.calendar.day(entry.at.day()),
                line_without_when(&entry.whole(), &self.vocabulary)
            ),
            batch: batch_about(book, entry).map(|batch| batch.key.clone()),
        }
    }
}

/// How many entries are looked through before it is asked whether the search is still wanted.
const ENTRIES_BETWEEN: usize = 4096;

impl FindScreen {
    /// Asks for what the text finds now.
    fn ask(&mut self, common: &Common) -> Turn {
        let search = Search::new(self.field.text(), common);
        let rest = (search.text.clone(), search.only.clone());
        let work = move |book: &Book, go_on: GoOn<'_>| search.run(book, go_on);
        Turn::stay().also(common.ask(&mut self.asked, "find", rest, work))
    }

    /// Finds it at once if the answer is still on its way: a key that acts on the list means what its text finds.
    fn find_now(&mut self, common: &Common) {
        let text = self.field.text().trim();
        if self.found.as_ref().is_none_or(|found| found.text != text)
            && let Some(found) = Search::new(text, common).run(&common.book, &mut || true)
        {
            self.show(found);
        }
    }

    /// Lists what was found; the choice stays where only the journal changed.
    fn show(&mut self, found: Found) {
        if self.found.as_ref().map(|it| &it.text) != Some(&found.text) {
            self.chosen = 0;
        }
        self.found = Some(found);
        self.chosen = self.chosen.min(self.count().saturating_sub(1));
    }

    fn batches(&self) -> &[Arc<Batch>] {
        self.found.as_ref().map_or(&[], |found| &found.batches)
    }

    fn noted(&self) -> &[NotedEntry] {
        self.found.as_ref().map_or(&[], |found| &found.noted)
    }

    /// How many batches and entries there are to choose from.
    fn count(&self) -> usize {
        self.batches().len() + self.noted().len()
    }

    /// Opens what is chosen: a batch's page, or the journal's pages with the same search.
    fn open(&self) -> Turn {
        if let Some(batch) = self.batches().get(self.chosen) {
            return Turn::step(StackStep::Found(batch.key.clone()));
        }
        let noted = self.chosen.checked_sub(self.batches().len());
        match noted.and_then(|at| self.noted().get(at)) {
            Some(NotedEntry {
                batch: Some(batch), ..
            }) => Turn::step(StackStep::Found(batch.clone())),
            Some(_) => Turn::step(StackStep::Seek(self.field.text().to_owned())),
            None => Turn::back(),
        }
    }
}

/// Whether a person entered it whose name, or a part of it, begins with these lower-case letters.
fn is_by(entry: &PackedEntry, sought: &str) -> bool {
    let by = entry.by().unwrap_or_default().to_lowercase();
    by.starts_with(sought) || by.split_whitespace().any(|part| part.starts_with(sought))
}

fn is_accident(entry: &PackedEntry) -> bool {
    let discard = entry.get::<Discard>();
    discard.is_some_and(|it| it.why == Some(DiscardReason::Accident))
}

impl Screen for FindScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Search
    }

    fn title(&self, _common: &Common) -> String {
        "Find a batch or a remark".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        if let Command::Accept | Command::ChooseNext | Command::ChoosePrevious | Command::Complete =
            command
        {
            self.find_now(common);
        }
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
                Some(Erasure::Done) => return self.ask(common),
                None => {}
            },
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.is_pasted = false;
        self.field.press(press);
        self.ask(common)
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.is_pasted = self.field.is_empty();
        self.field.insert(text);
        self.ask(common)
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(found) = self.asked.taken::<Found>(answer) {
            self.show(found.clone());
        }
    }

    fn typed_text(&self) -> &str {
        self.field.text()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        let state = match &self.found {
            None => "Searching...",
            Some(_) if self.count() == 0 => "Nothing has that name.",
            Some(_) => "",
        };
        canvas.text(1, 2, state, Tone::Plain);
        let room = canvas.height().saturating_sub(1).max(1);
        let first = self.chosen / room * room;
        let shown: Vec<&Arc<Batch>> = self.batches().iter().skip(first).take(room).collect();
        let chosen = self.chosen.checked_sub(first);
        draw_batches(&shown, chosen, 1, common, canvas);
        let after_batches = shown.len();
        let from = first.saturating_sub(self.batches().len());
        let noted = self.noted().iter().enumerate().skip(from);
        for (row, (at, entry)) in noted.take(room - after_batches).enumerate() {
            let row = after_batches + row + 1;
            let mark = if self.batches().len() + at == self.chosen {
                ">"
            } else {
                " "
            };
            canvas.text(row, 0, mark, Tone::Heading);
            canvas.text(row, 2, &entry.line, Tone::Plain);
        }
    }
}
