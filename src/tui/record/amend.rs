//! Amending an entry: it stands as a bench line, is changed as text, and only what changed is written.

use super::mends::OfferedMends;
use super::reading::{ahead, explained, read};
use super::typing::{LineEdit, MeantWord, TypedLine};
use crate::input::bench_line::{LineReading, label, line_of};
use crate::model::entry::{Amend, Entry, Kind};
use crate::model::id::Id;
use crate::model::value::Value;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::{Common, SavedAct};
use crate::tui::effect::{Act, Effect, NewEntry, Refusal};
use crate::tui::field::TextField;
use crate::tui::keys::KeyPress;
use crate::tui::keys::{Command, KeyContext};
use crate::tui::screen::{Screen, Turn};

/// The entry as it is being changed.
#[derive(Debug)]
pub struct AmendScreen {
    of: Id,
    /// As it was when this was opened.
    entry: Entry,
    before: String,
    typing: TypedLine,
    mends: OfferedMends,
}

/// The line with the cursor before its day, which is seldom what is changed, and hides the rest on a narrow screen.
fn field(line: &str) -> TextField {
    let day = line.rfind(", on ").map_or("", |at| &line[at..]);
    TextField::before_the_end(line, day)
}

impl AmendScreen {
    /// On an entry as it stands.
    #[must_use]
    pub fn open(entry: &Entry, common: &Common) -> Self {
        let before = line_of(entry, &common.vocabulary);
        Self {
            of: entry.id.clone(),
            entry: entry.clone(),
            typing: TypedLine::from_field(field(&before)),
            before,
            mends: OfferedMends::default(),
        }
    }

    /// The amend that makes the entry what the line says; nothing if it says what it said.
    fn change(&self, reading: &LineReading, common: &Common) -> Result<Option<NewEntry>, String> {
        let standing = match common.book.entry(&self.of) {
            Some(standing) => &*standing.entry,
            // Climate lines are too many to be sought at every key.
            None if matches!(self.entry.kind, Kind::Climate(_)) => &self.entry,
            None => return Err("That entry no longer stands.".to_owned()),
        };
        if !reading.is_whole() {
            let wrong = reading.complaints().into_iter().next();
            return Err(wrong.unwrap_or_else(|| "Nothing was understood.".to_owned()));
        }
        if reading.kind != Some(standing.kind.word()) {
            return Err("An entry stays of its kind: take it back and enter the other.".to_owned());
        }
        let set = reading.changes_to(standing);
        let kind = Kind::Amend(Box::new(Amend {
            target: self.of.clone(),
            set: set.clone(),
        }));
        Ok((!set.is_empty()).then_some(NewEntry { kind, note: None }))
    }

    /// What the line no longer says, in words.
    fn dropped(&self, reading: &LineReading) -> Option<String> {
        let set = reading.changes_to(&self.entry);
        let gone = set.iter().filter(|(_, value)| *value == Value::Null);
        let gone: Vec<String> = gone.map(|(name, _)| label(name)).collect();
        (!gone.is_empty()).then(|| format!("No longer said: {}.", gone.join(", ")))
    }

    fn accept(&mut self, common: &mut Common) -> Turn {
        let reading = read(self.typing.field.text(), common);
        match self.change(&reading, common) {
            Ok(None) => Turn::back(),
            Ok(Some(new)) => {
                let summary = format!(
                    "{} (it said: {})",
                    self.typing.field.text().trim(),
                    self.before
                );
                let act = Act {
                    at: None,
                    entries: vec![new],
                    summary,
                };
                Turn::effect(Effect::Record(self.mends.before(act)))
            }
            Err(wrong) => {
                common.say(Tone::Pressing, wrong);
                Turn::stay()
            }
        }
    }

    /// What a mistyped word was meant for, for the key that takes it.
    fn meant(&self, command: Command, common: &Common) -> Option<MeantWord> {
        let asked = command == Command::Complete;
        let reading = asked.then(|| read(self.typing.field.text(), common));
        self.typing.meant(reading.as_ref())
    }

    fn edited(&mut self, common: &Common) -> Turn {
        self.mends.drop_all();
        self.typing.offer(common);
        Turn::stay()
    }
}

impl Screen for AmendScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, _common: &Common) -> String {
        "Amend an entry".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        match command {
            Command::Accept => return self.accept(common),
            Command::Complete if self.mends.are_offered() => {
                self.mends.take();
                return self.accept(common);
            }
            Command::Leave if self.typing.field.text() == self.before => return Turn::back(),
            Command::Leave => {
                self.typing = TypedLine::from_field(field(&self.before));
                self.mends.drop_all();
                common.say(Tone::Plain, "As it was: the same key again goes back.");
                return Turn::stay();
            }
            _ => {}
        }
        let meant = self.meant(command, common);
        match self.typing.command(command, meant) {
            LineEdit::Edit => self.edited(common),
            LineEdit::Leave => Turn::back(),
            LineEdit::Nothing => Turn::stay(),
        }
    }

    fn is_idle(&self, common: &Common, command: Command) -> bool {
        let takes = self.mends.are_offered() || self.typing.takes(self.meant(command, common));
        command == Command::Complete && !takes
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.typing.field.press(press);
        self.edited(common)
    }

    fn paste_room(&self) -> usize {
        self.typing.field.room()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.typing.field.insert(text);
        self.edited(common)
    }

    fn recorded(&mut self, _common: &mut Common, _done: &SavedAct) -> Turn {
        Turn::back()
    }

    fn refused(&mut self, _common: &Common, refusal: &Refusal) {
        self.mends.offer(refusal);
    }

    fn typed_text(&self) -> &str {
        self.typing.field.text()
    }

    fn draft(&self) -> Option<String> {
        let text = self.typing.field.text().trim();
        (text != self.before).then(|| format!("amend\t{}\t{text}", self.of))
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.typing.field);
        let mut row = canvas.wrapped(1, 2, &format!("It said: {}", self.before), Tone::Plain);
        let reading = read(self.typing.field.text(), common);
        match self.change(&reading, common) {
            Ok(None) => row = canvas.wrapped(row, 2, "Nothing is changed yet.", Tone::Plain),
            Ok(Some(_)) => {
                let (said, doubts) = explained(std::slice::from_ref(&reading), &self.typing);
                let said = format!("It will say: {}", said.join(" "));
                row = canvas.wrapped(row, 2, &said, Tone::Plain);
                for doubt in doubts.into_iter().chain(self.dropped(&reading)) {
                    row = canvas.wrapped(row, 2, &doubt, Tone::Pressing);
                }
                if let Some(yet_to_come) = ahead(&reading, common) {
                    row = canvas.wrapped(row, 2, &yet_to_come, Tone::Pressing);
                }
            }
            Err(wrong) => row = canvas.wrapped(row, 2, &wrong, Tone::Pressing),
        }
        row = super::typing::draw_meant(self.typing.meant([&reading]).as_ref(), row, canvas);
        row = self.mends.draw(row, 2, canvas);
        self.typing.draw_offers(row, canvas);
    }
}

/// An amend left unfinished, with that text typed already; nothing if its entry is not there.
#[must_use]
pub fn resumed_amend(of: &Id, text: &str, common: &Common) -> Option<AmendScreen> {
    let standing = common.book.entry(of).cloned();
    let standing = standing.or_else(|| common.book.climate_entry(of))?;
    let mut amend = AmendScreen::open(&standing.entry, common);
    amend.typing = TypedLine::new(text);
    Some(amend)
}
