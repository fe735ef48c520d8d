//! Amending an entry: it stands as a bench line, is changed as text, and only what changed is written.

use super::entry_screen::{EntryDraft, EntryForm, EntryScreen};
use super::reading::{ahead, explained, read};
use super::typing::TypedLine;
use crate::input::bench_line::{LineReading, label, line_of};
use crate::model::entry::{Amend, Entry, Kind};
use crate::model::id::Id;
use crate::model::value::Value;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::Common;
use crate::tui::effect::{Act, Effect, NewEntry};
use crate::tui::field::TextField;
use crate::tui::screen::Turn;

/// The screen on which an entry is amended.
pub type AmendScreen = EntryScreen<AmendForm>;

/// The entry that is being amended.
#[derive(Debug)]
pub struct AmendForm {
    target: Id,
    /// The entry as it was when this was opened.
    entry: Entry,
    /// The entry as a bench line.
    before: String,
}

/// The line with the cursor before its day, which is seldom what is changed, and hides the rest on a narrow screen.
fn field(line: &str) -> TextField {
    let day = line.rfind(", on ").map_or("", |at| &line[at..]);
    TextField::before_the_end(line, day)
}

impl EntryScreen<AmendForm> {
    /// On an entry as it stands.
    #[must_use]
    pub fn open(entry: &Entry, common: &Common) -> Self {
        let form = AmendForm {
            target: entry.id.clone(),
            entry: entry.clone(),
            before: line_of(entry, &common.vocabulary),
        };
        let typing = TypedLine::from_field(field(&form.before));
        Self::new(form, typing)
    }
}

impl AmendForm {
    /// The amend that makes the entry what the line says; nothing if it says what it said.
    fn change(&self, reading: &LineReading, common: &Common) -> Result<Option<NewEntry>, String> {
        let standing = match common.book.entry(&self.target) {
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
            target: self.target.clone(),
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
}

impl EntryForm for AmendForm {
    fn title(&self, _common: &Common) -> String {
        "Amend an entry".to_owned()
    }

    fn readings(&self, text: &str, common: &Common) -> Vec<LineReading> {
        vec![read(text, common)]
    }

    fn accept(&mut self, draft: &EntryDraft, common: &mut Common) -> Turn {
        match self.change(&read(draft.text(), common), common) {
            Ok(None) => Turn::back(),
            Ok(Some(new)) => {
                let act = Act {
                    at: None,
                    entries: vec![new],
                    summary: format!("{} (it said: {})", draft.text().trim(), self.before),
                };
                Turn::effect(Effect::Record(draft.mends.before(act)))
            }
            Err(wrong) => {
                common.say(Tone::Pressing, wrong);
                Turn::stay()
            }
        }
    }

    fn original(&self) -> Option<TextField> {
        Some(field(&self.before))
    }

    fn kept(&self, text: &str) -> Option<String> {
        (text != self.before).then(|| format!("amend\t{}\t{text}", self.target))
    }

    fn draw(&self, draft: &EntryDraft, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &draft.typing.field);
        let mut row = canvas.wrapped(1, 2, &format!("It said: {}", self.before), Tone::Plain);
        let readings = self.readings(draft.text(), common);
        let reading = &readings[0];
        match self.change(reading, common) {
            Ok(None) => row = canvas.wrapped(row, 2, "Nothing is changed yet.", Tone::Plain),
            Ok(Some(_)) => {
                let (said, doubts) = explained(&readings, &draft.typing);
                let said = format!("It will say: {}", said.join(" "));
                row = canvas.wrapped(row, 2, &said, Tone::Plain);
                let doubts = doubts.into_iter().chain(self.dropped(reading));
                for doubt in doubts.chain(ahead(reading, common)) {
                    row = canvas.wrapped(row, 2, &doubt, Tone::Pressing);
                }
            }
            Err(wrong) => row = canvas.wrapped(row, 2, &wrong, Tone::Pressing),
        }
        row = draft.draw_remedies(&readings, row, canvas);
        draft.typing.draw_offers(row, canvas);
    }
}

/// An amend left unfinished, with that text typed already; nothing if its entry is not there.
#[must_use]
pub fn resumed_amend(target: &Id, text: &str, common: &Common) -> Option<AmendScreen> {
    let standing = common.book.entry(target).cloned();
    let standing = standing.or_else(|| common.book.climate_entry(target))?;
    let mut amend = AmendScreen::open(&standing.entry, common);
    amend.draft.typing = TypedLine::new(text);
    Some(amend)
}
