//! A line being typed, with the words on offer for it: what the typing keys do on every recording
//! screen. It does not know what the line means.

use super::offers::{Offers, offers};
use crate::input::bench_line::{Problem, Reading};
use crate::tui::canvas::Canvas;
use crate::tui::common::Common;
use crate::tui::field::Field;
use crate::tui::keys::Command;
use crate::tui::press::Press;

/// The line and the words on offer.
#[derive(Clone, Debug, Default)]
pub struct Typing {
    /// The text with its cursor.
    pub field: Field,
    offers: Offers,
    chosen: usize,
    /// What the line held before it was emptied at one press, which may have been a slip.
    emptied: String,
}

/// A word of the line, and what it was meant for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Meant {
    /// As it stands in the line.
    pub typed: String,
    /// What it was meant for.
    pub word: String,
}

/// What a typing key did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Did {
    /// The text changed.
    Edit,
    /// There was nothing left to take away: the screen is to be left.
    Leave,
    /// The text is as it was.
    Nothing,
}

impl Typing {
    /// A line that begins with this text.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self::of(Field::new(text))
    }

    /// A line that begins as this field.
    #[must_use]
    pub fn of(field: Field) -> Self {
        Self {
            field,
            ..Self::default()
        }
    }

    /// What a command does to the line; of commands that are not for typing, nothing.
    pub fn command(&mut self, command: Command, meant: Option<Meant>) -> Did {
        match command {
            Command::Complete => return self.complete(meant),
            Command::ChooseNext => {
                let last = self.offers.words.len().saturating_sub(1);
                self.chosen = (self.chosen + 1).min(last);
            }
            Command::ChoosePrevious => self.chosen = self.chosen.saturating_sub(1),
            Command::Erase | Command::Leave if self.field.is_empty() => return Did::Leave,
            Command::Erase => {
                self.field.press(Press::Backspace);
                return Did::Edit;
            }
            Command::Leave => {
                self.emptied = std::mem::take(&mut self.field).text().to_owned();
                return Did::Edit;
            }
            _ => {}
        }
        Did::Nothing
    }

    /// Whether there is anything to take: a word on offer, or what one was meant for.
    pub fn takes(&self, meant: Option<Meant>) -> bool {
        !self.offers.words.is_empty() || meant.is_some()
    }

    /// What a word that was not understood, or is doubted, was meant for, if no word is on offer.
    pub fn meant<'a>(&self, readings: impl IntoIterator<Item = &'a Reading>) -> Option<Meant> {
        let each = readings.into_iter();
        let mut told = each.flat_map(|reading| reading.problems.iter().chain(&reading.doubts));
        let stands = |problem: &&Problem| {
            !problem.phrase.is_empty() && self.field.text().contains(&problem.phrase)
        };
        let problem = told.find(|problem| problem.nearest.is_some() && stands(problem))?;
        let word = problem.nearest.clone();
        Some(Meant {
            typed: problem.phrase.clone(),
            word: word.filter(|_| self.offers.words.is_empty())?,
        })
    }

    /// Takes the chosen word, or puts what was meant in the place of what was typed.
    fn complete(&mut self, meant: Option<Meant>) -> Did {
        if let Some(word) = self.offers.words.get(self.chosen) {
            self.field.complete(self.offers.from, word);
            return Did::Edit;
        }
        let found = meant.and_then(|it| Some((self.field.text().rfind(&it.typed)?, it)));
        let Some((at, Meant { typed, word })) = found else {
            return Did::Nothing;
        };
        self.field.replace(at..at + typed.len(), &word);
        Did::Edit
    }

    /// Offers anew, once the text has changed.
    pub fn offer(&mut self, common: &Common) {
        self.chosen = 0;
        self.offers = match self.field.is_empty() {
            true => self.put_back(),
            // Within a word there is nothing to complete.
            false if self.field.is_within_word() => Offers::default(),
            false => offers(self.field.before(), &[], common),
        };
    }

    /// Whether what a doubt takes for meant is on offer.
    pub fn has_on_offer(&self, doubt: &Problem) -> bool {
        let meant = doubt.nearest.as_ref();
        meant.is_some_and(|meant| self.offers.words.contains(meant))
    }

    /// Offers no words, where the text is free.
    pub fn offer_no_words(&mut self) {
        self.offers = match self.field.is_empty() {
            true => self.put_back(),
            false => Offers::default(),
        };
    }

    /// The line as it was before it was emptied, on offer for the empty one.
    fn put_back(&self) -> Offers {
        let held = Some(self.emptied.clone()).filter(|text| !text.is_empty());
        Offers {
            from: 0,
            words: held.into_iter().collect(),
        }
    }

    /// Draws the words on offer, the chosen one marked with the key that takes it.
    pub fn draw_offers(&self, row: usize, canvas: &mut Canvas<'_>) {
        super::draw_offers(&self.offers, self.chosen, row, canvas);
    }
}
