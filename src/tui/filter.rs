//! The filter, which narrows every screen to the batches that a typed line selects.

use super::canvas::{Canvas, Tone};
use super::common::Common;
use super::field::{Erasure, TextField};
use super::keys::{Command, KeyContext, KeyPress};
use super::screen::{Screen, Turn};
use crate::model::filter::Filter;
use crate::model::listed::Wood;

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
            _ if self.field.erase(command) == Some(Erasure::WasEmpty) => return Turn::back(),
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
        let admits = filter.within(&common.book);
        let admitted = batches.iter().filter(|batch| admits(batch)).count();
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
        let help = "For example: lavandula, softwood, 2025, at bench 2, trial talc. An empty line shows all.";
        canvas.wrapped(row, 2, help, Tone::Plain);
    }
}
