//! Who is entering: a name, offered from the journal's own. It stays until changed.

use super::offers::{Offers, offers};
use crate::tui::canvas::Canvas;
use crate::tui::common::Common;
use crate::tui::effect::Effect;
use crate::tui::field::Field;
use crate::tui::ink::Meaning;
use crate::tui::keys::{Command, Context};
use crate::tui::press::Press;
use crate::tui::screen::{Screen, Turn};

/// The name being typed.
#[derive(Debug, Default)]
pub struct By {
    field: Field,
    chosen: usize,
}

impl By {
    /// All names of the journal while nothing is typed, else the nearest.
    fn offers(&self, common: &Common) -> Offers {
        if self.field.is_empty() {
            let others = common.known.texts("by").iter();
            let others = others.filter(|name| **name != common.by);
            let words = others.take(MOST).cloned().collect();
            return Offers { from: 0, words };
        }
        offers(self.field.before(), &["by"], common)
    }
}

/// Names to choose from by a digit.
const MOST: usize = 9;

/// From now on that person is entering, in later sittings too.
fn enter(common: &mut Common, name: &str) -> Turn {
    common.by = name.to_owned();
    common.say(Meaning::Plain, format!("{name} is entering from now on."));
    Turn::back().and(Effect::Remember(common.memory()))
}

impl Screen for By {
    fn context(&self) -> Context {
        Context::Field
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
            Command::Erase | Command::Leave if self.field.is_empty() => return Turn::back(),
            Command::Erase => {
                self.field.press(Press::Backspace);
            }
            Command::Leave => self.field = Field::default(),
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: Press) -> Turn {
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

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        let now = match common.by.as_str() {
            "" => "Someone who gave no name is entering: type yours.".to_owned(),
            by => format!("Now {by}."),
        };
        let row = canvas.wrapped(1, 2, &now, Meaning::Plain);
        let offers = self.offers(common);
        if !self.field.is_empty() {
            super::draw_offers(&offers, self.chosen, row, canvas);
            return;
        }
        for (at, name) in offers.words.iter().enumerate() {
            let end = canvas.text(row + at, 2, &(at + 1).to_string(), Meaning::Key);
            canvas.text(row + at, end + 1, name, Meaning::Plain);
        }
    }
}
