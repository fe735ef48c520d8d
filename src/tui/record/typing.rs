//! A line being typed, with the words on offer for it: what the typing keys do on every recording
//! screen. It does not know what the line means.

use crate::input::bench_line::{LineProblem, LineReading, NAMED_FIELDS};
use crate::input::fuzzy::rank;
use crate::text::clean::unmarked;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::Common;
use crate::tui::field::TextField;
use crate::tui::keys::Command;
use crate::tui::keys::KeyPress;

/// The line and the words on offer.
#[derive(Clone, Debug, Default)]
pub struct TypedLine {
    /// The text with its cursor.
    pub field: TextField,
    offers: WordOffers,
    chosen: usize,
    /// What the line held before it was emptied at one press, which may have been a slip.
    emptied: String,
}

/// A word of the line, and what it was meant for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MeantWord {
    /// As it stands in the line.
    pub typed: String,
    /// What it was meant for.
    pub word: String,
}

/// What a typing key did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEdit {
    /// The text changed.
    Edit,
    /// There was nothing left to take away: the screen is to be left.
    Leave,
    /// The text is as it was.
    Nothing,
}

impl TypedLine {
    /// A line that begins with this text.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self::from_field(TextField::new(text))
    }

    /// A line that begins as this field.
    #[must_use]
    pub fn from_field(field: TextField) -> Self {
        Self {
            field,
            ..Self::default()
        }
    }

    /// Carries out a typing command on the line. Other commands do nothing.
    pub fn command(&mut self, command: Command, meant: Option<MeantWord>) -> LineEdit {
        match command {
            Command::Complete => return self.complete(meant),
            Command::ChooseNext => {
                let last = self.offers.words.len().saturating_sub(1);
                self.chosen = (self.chosen + 1).min(last);
            }
            Command::ChoosePrevious => self.chosen = self.chosen.saturating_sub(1),
            Command::Erase | Command::Leave if self.field.is_empty() => return LineEdit::Leave,
            Command::Erase => {
                self.field.press(KeyPress::Backspace);
                return LineEdit::Edit;
            }
            Command::Leave => {
                self.emptied = std::mem::take(&mut self.field).text().to_owned();
                return LineEdit::Edit;
            }
            _ => {}
        }
        LineEdit::Nothing
    }

    /// Whether there is anything to take: a word on offer, or what one was meant for.
    pub fn takes(&self, meant: Option<MeantWord>) -> bool {
        !self.offers.words.is_empty() || meant.is_some()
    }

    /// What a word that was not understood, or is doubted, was meant for, if no word is on offer.
    pub fn meant<'a>(
        &self,
        readings: impl IntoIterator<Item = &'a LineReading>,
    ) -> Option<MeantWord> {
        let each = readings.into_iter();
        let mut told = each.flat_map(|reading| reading.problems.iter().chain(&reading.doubts));
        let stands = |problem: &&LineProblem| {
            !problem.phrase.is_empty() && self.field.text().contains(&problem.phrase)
        };
        let problem = told.find(|problem| problem.nearest.is_some() && stands(problem))?;
        let word = problem.nearest.clone();
        Some(MeantWord {
            typed: problem.phrase.clone(),
            word: word.filter(|_| self.offers.words.is_empty())?,
        })
    }

    /// Takes the chosen word, or puts what was meant in the place of what was typed.
    fn complete(&mut self, meant: Option<MeantWord>) -> LineEdit {
        if let Some(word) = self.offers.words.get(self.chosen) {
            self.field.complete(self.offers.from, word);
            return LineEdit::Edit;
        }
        let found = meant.and_then(|it| Some((self.field.text().rfind(&it.typed)?, it)));
        let Some((at, MeantWord { typed, word })) = found else {
            return LineEdit::Nothing;
        };
        self.field.replace(at..at + typed.len(), &word);
        LineEdit::Edit
    }

    /// Looks for words to offer once the text has changed.
    pub fn offer(&mut self, common: &Common) {
        self.chosen = 0;
        self.offers = match self.field.is_empty() {
            true => self.put_back(),
            // Within a word there is nothing to complete.
            false if self.field.is_within_word() => WordOffers::default(),
            false => offers(self.field.before(), &[], common),
        };
    }

    /// Whether the word that a doubt suggests is on offer.
    pub fn has_on_offer(&self, doubt: &LineProblem) -> bool {
        let meant = doubt.nearest.as_ref();
        meant.is_some_and(|meant| self.offers.words.contains(meant))
    }

    /// Offers no words, where the text is the grower's own.
    pub fn offer_no_words(&mut self) {
        self.offers = match self.field.is_empty() {
            true => self.put_back(),
            false => WordOffers::default(),
        };
    }

    /// The line as it was before it was emptied, on offer for the empty one.
    fn put_back(&self) -> WordOffers {
        let held = Some(self.emptied.clone()).filter(|text| !text.is_empty());
        WordOffers {
            from: 0,
            words: held.into_iter().collect(),
        }
    }

    /// Draws the words on offer, the chosen one marked with the key that takes it.
    pub fn draw_offers(&self, row: usize, canvas: &mut Canvas<'_>) {
        draw_offers(&self.offers, self.chosen, row, canvas);
    }
}

/// What was meant, with the key that puts it right; gives the row after.
pub fn draw_meant(meant: Option<&MeantWord>, row: usize, canvas: &mut Canvas<'_>) -> usize {
    let Some(MeantWord { word, .. }) = meant else {
        return row;
    };
    let end = canvas.text(row, 2, "=", Tone::Key);
    canvas.text(row, end + 1, word, Tone::Plain);
    row + 1
}

/// The words on offer, the chosen one marked with the key that takes it.
pub fn draw_offers(offers: &WordOffers, chosen: usize, row: usize, canvas: &mut Canvas<'_>) {
    for (at, word) in offers.words.iter().enumerate() {
        let mark = if at == chosen { "=" } else { " " };
        let end = canvas.text(row + at, 2, mark, Tone::Key);
        canvas.text(row + at, end + 1, word, Tone::Plain);
    }
}

/// First words of a phrase that are no part of the text looked for.
const OPENERS: [&str; 8] = ["in", "at", "to", "from", "by", "with", "into", "of"];
/// At most so many are offered.
const MOST: usize = 5;

/// Words on offer for the text before the cursor.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WordOffers {
    /// Where in the text the replaced part begins, in bytes.
    pub from: usize,
    /// The words, nearest first.
    pub words: Vec<String>,
}

/// What is offered for the last phrase of this text, from these fields (all, if none are named).
#[must_use]
pub fn offers(before: &str, fields: &[&str], common: &Common) -> WordOffers {
    let from = phrase_start(before);
    let query = before[from..].trim();
    if query.chars().count() < 2 {
        return WordOffers::default();
    }
    let fields = if fields.is_empty() {
        &NAMED_FIELDS[..]
    } else {
        fields
    };
    let mut known: Vec<&str> = Vec::new();
    for field in fields {
        let texts = common.vocabulary.texts(field).iter().map(String::as_str);
        known.extend(texts);
    }
    known.sort_unstable();
    known.dedup();
    let ranked = rank(query, &known).into_iter();
    let words: Vec<String> = ranked
        .map(|(at, _)| known[at].to_owned())
        .filter(|word| word != query && begins(word, query))
        .take(MOST)
        .collect();
    WordOffers { from, words }
}

/// Whether a word of the text begins as the query does: the rest may be guessed, the first letter not.
fn begins(text: &str, query: &str) -> bool {
    let (text, query) = (unmarked(text), unmarked(query));
    let first = query
        .chars()
        .find(|c| c.is_alphanumeric())
        .map(|c| c.to_lowercase().to_string());
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    first.is_some_and(|first| words.any(|word| word.to_lowercase().starts_with(&first)))
}

/// Where the last phrase begins, its number and its opening word left out.
fn phrase_start(before: &str) -> usize {
    let cut = [", ", ": "]
        .iter()
        .filter_map(|sign| before.rfind(sign).map(|at| at + sign.len()));
    let mut from = cut.max().unwrap_or(0);
    loop {
        let rest = &before[from..];
        let spaces = rest.len() - rest.trim_start().len();
        let word = rest.trim_start().split(' ').next().unwrap_or_default();
        let ended = rest.trim_start().len() > word.len();
        let number = word.chars().any(|c| c.is_ascii_digit())
            && word.chars().all(|c| c.is_ascii_digit() || c == 'x');
        if ended && (number || OPENERS.contains(&word)) {
            from += spaces + word.len();
        } else {
            return from + spaces;
        }
    }
}
