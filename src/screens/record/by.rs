//! Who is entering: a name, offered from the journal's own. It stays until changed.

use super::offers::{Offers, offers};
use crate::screens::canvas::Canvas;
use crate::screens::common::Common;
use crate::screens::field::Field;
use crate::screens::ink::Meaning;
use crate::screens::keys::{Command, Context};
use crate::screens::press::Press;
use crate::screens::screen::{Screen, Turn};

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
            let words = common.known.texts("by").iter().take(9).cloned().collect();
            return Offers { from: 0, words };
        }
        offers(self.field.before(), &["by"], common)
    }
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
                if !name.is_empty() {
                    common.by = name;
                }
                return Turn::back();
            }
            Command::Complete => {
                if let Some(name) = offered.words.get(self.chosen) {
                    common.by.clone_from(name);
                    return Turn::back();
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

    fn press(&mut self, _common: &mut Common, press: Press) -> Turn {
        self.field.press(press);
        self.chosen = 0;
        Turn::stay()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        let now = match common.by.as_str() {
            "" => "Nobody is named yet.".to_owned(),
            by => format!("Now {by}."),
        };
        canvas.text(1, 2, &now, Meaning::Plain);
        super::draw_offers(&self.offers(common), self.chosen, 2, canvas);
    }
}
