//! Who is entering: a name, offered from the journal's own. It stays until changed.

use super::typing::{WordOffers, offers};
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::Common;
use crate::tui::effect::Effect;
use crate::tui::field::{Erasure, TextField};
use crate::tui::keys::KeyPress;
use crate::tui::keys::{Command, KeyContext};
use crate::tui::screen::{Screen, Turn};

/// The name being typed.
#[derive(Debug, Default)]
pub struct WhoScreen {
    field: TextField,
    chosen: usize,
    /// Whether it is asked at the start of a sitting.
    at_start: bool,
}

impl WhoScreen {
    /// Asked once at the start of a sitting, where more than one person writes in the journal; nothing elsewhere.
    #[must_use]
    pub fn at_start(common: &Common) -> Option<Self> {
        let several = common.vocabulary.texts("by").len() > 1;
        several.then(|| Self {
            at_start: true,
            ..Self::default()
        })
    }

    /// All names of the journal while nothing is typed, else the nearest.
    fn offers(&self, common: &Common) -> WordOffers {
        if self.field.is_empty() {
            let others = common.vocabulary.texts("by").iter();
            let others = others.filter(|name| **name != common.by);
            let words = others.take(MOST).cloned().collect();
            return WordOffers { from: 0, words };
        }
        offers(self.field.before(), &["by"], common)
    }
}

/// Said on the first screen of a sitting.
const WAYS_OUT: &str = "? shows the keys, Ctrl-C leaves struck.";

/// Names to choose from by a digit.
const MOST: usize = 9;

/// From now on that person is entering, in later sittings too.
fn enter(common: &mut Common, name: &str) -> Turn {
    common.by = name.to_owned();
    common.say(Tone::Plain, format!("Entries are now {name}'s."));
    Turn::back().and(Effect::Remember(common.memory()))
}

impl Screen for WhoScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, _common: &Common) -> String {
        "Who is entering".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let offered = self.offers(common);
        match command {
            Command::Accept => {
                let name = self.field.text().trim().to_owned();
                return match name.as_str() {
                    "" => Turn::back(),
                    name => enter(common, name),
                };
            }
            Command::Complete => {
                if let Some(name) = offered.words.get(self.chosen) {
                    return enter(common, name);
                }
            }
            Command::ChooseNext => {
                self.chosen = (self.chosen + 1).min(offered.words.len().saturating_sub(1))
            }
            Command::ChoosePrevious => self.chosen = self.chosen.saturating_sub(1),
            _ if self.field.erase(command) == Some(Erasure::WasEmpty) => return Turn::back(),
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        let digit = press.char().and_then(|c| c.to_digit(10));
        let number = digit.filter(|_| self.field.is_empty());
        let name = number.and_then(|n| {
            let names = self.offers(common).words;
            names.get((n as usize).checked_sub(1)?).cloned()
        });
        if let Some(name) = name {
            return enter(common, &name);
        }
        self.field.press(press);
        self.chosen = 0;
        Turn::stay()
    }

    fn typed_text(&self) -> &str {
        self.field.text()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        let now = match common.by.as_str() {
            "" => "No name was given yet: type yours.".to_owned(),
            by if self.at_start => format!("Who is at this terminal? Enter if it is {by}."),
            by => format!("Now {by}."),
        };
        let mut row = canvas.wrapped(1, 2, &now, Tone::Plain);
        if self.at_start && self.field.is_empty() {
            row = canvas.wrapped(row, 2, WAYS_OUT, Tone::Plain);
        }
        let offers = self.offers(common);
        if !self.field.is_empty() {
            super::typing::draw_offers(&offers, self.chosen, row, canvas);
            return;
        }
        for (at, name) in offers.words.iter().enumerate() {
            let end = canvas.text(row + at, 2, &(at + 1).to_string(), Tone::Key);
            canvas.text(row + at, end + 1, name, Tone::Plain);
        }
    }
}
