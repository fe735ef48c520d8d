//! The search, which finds a batch by any part of its name, code or place, and entries by their notes and people; and the
//! filter, which narrows every screen to the batches that a typed line selects.

use super::canvas::{Canvas, Tone};
use super::common::Common;
use super::field::TextField;
use super::keys::{Command, KeyContext, KeyPress};
use super::pad::PadScreen;
use super::pages::feed::{Seek, batch_about};
use super::screen::{Screen, StackStep, Turn};
use crate::fold::batch::Batch;
use crate::input::bench_line::line_without_when;
use crate::input::fuzzy::rank;
use crate::model::filter::Filter;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::text::clean::width;
use crate::text::short::short;
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
        batch: batch_about(&common.book, entry).map(|batch| batch.key.clone()),
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
            Command::Accept => {
                let scanned = common.open_batch(self.field.text());
                return match scanned.filter(|_| self.is_pasted) {
                    Some(batch) => Turn::step(StackStep::Instead(Box::new(PadScreen::new(batch)))),
                    None => self.open(),
                };
            }
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

/// The line being typed.
#[derive(Debug)]
pub struct FilterScreen {
    field: TextField,
}

impl FilterScreen {
    /// Holds the filter as it stands.
    #[must_use]
    pub fn new(common: &Common) -> Self {
        Self {
            field: TextField::new(&filter_words(&common.filter)),
        }
    }
}

/// A filter in the words that [`read_filter`] understands; empty for none.
#[must_use]
pub fn filter_words(filter: &Filter) -> String {
    let parts = [
        filter.taxon.clone(),
        filter.wood.map(|wood| wood.word().to_owned()),
        filter.season.map(|season| season.to_string()),
        filter.place.as_ref().map(|place| format!("at {place}")),
        filter.trial.as_ref().map(|trial| format!("trial {trial}")),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// The filter that a typed line means: parts set off by commas, each a wood stage, a year of sticking,
/// `at` a place, `trial` and its name, or else a taxon.
#[must_use]
pub fn read_filter(line: &str, common: &Common) -> Filter {
    let mut filter = Filter::default();
    for part in line
        .split(',')
        .map(str::trim)
        .filter(|part| !part.is_empty())
    {
        let lower = part.to_lowercase();
        let named = |word: &str| {
            lower
                .starts_with(word)
                .then(|| part[word.len()..].trim().to_owned())
        };
        let year = part
            .parse::<i32>()
            .ok()
            .filter(|year| (1000..=9999).contains(year));
        if let Some(wood) = Wood::from_word(&lower) {
            filter.wood = Some(wood);
        } else if let Some(year) = year {
            filter.season = Some(year);
        } else if let Some(place) = named("at ") {
            filter.place = Some(place);
        } else if let Some(trial) = named("trial ") {
            filter.trial = Some(trial);
        } else if common.book.places().get(part).is_some() {
            filter.place = Some(part.to_owned());
        } else {
            filter.taxon = Some(part.to_owned());
        }
    }
    filter
}

/// What a filter asks for, part by part.
fn meant(filter: &Filter) -> Vec<String> {
    let parts = [
        filter
            .taxon
            .as_ref()
            .map(|name| format!("taxa with {name} in their name")),
        filter.wood.map(|wood| format!("stuck as {}", wood.word())),
        filter.season.map(|season| format!("stuck in {season}")),
        filter
            .place
            .as_ref()
            .map(|place| format!("stuck at {place}")),
        filter
            .trial
            .as_ref()
            .map(|trial| format!("of the trial {trial}")),
    ];
    parts.into_iter().flatten().collect()
}

impl Screen for FilterScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, _common: &Common) -> String {
        "Only these batches".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        match command {
            Command::Accept => {
                common.filter = read_filter(self.field.text(), common);
                return Turn::back();
            }
            Command::Erase if !self.field.is_empty() => {
                self.field.press(KeyPress::Backspace);
            }
            Command::Leave if !self.field.is_empty() => self.field = TextField::default(),
            Command::Erase | Command::Leave => return Turn::back(),
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, _common: &mut Common, press: KeyPress) -> Turn {
        self.field.press(press);
        Turn::stay()
    }

    fn paste(&mut self, _common: &mut Common, text: &str) -> Turn {
        self.field.insert(text);
        Turn::stay()
    }

    fn typed_text(&self) -> &str {
        self.field.text()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        let filter = read_filter(self.field.text(), common);
        let batches = common.book.batches();
        let admitted = batches
            .iter()
            .filter(|batch| filter.admits(&common.book, batch))
            .count();
        let parts = meant(&filter);
        let said = if parts.is_empty() {
            "All batches".to_owned()
        } else {
            format!("Only {}", parts.join(", "))
        };
        let row = canvas.wrapped(
            1,
            2,
            &format!("{said}: {admitted} of {}.", batches.len()),
            Tone::Plain,
        );
        let help = "For example: lavandula, softwood, 2025, at bench 2, trial talc. An empty line takes all.";
        canvas.wrapped(row, 2, help, Tone::Plain);
    }
}
