//! Amending an entry: it stands as a bench line, is changed as text, and only what changed is written.

use super::entry_screen::{EntryDraft, EntryForm, EntryScreen};
use super::reading::{ahead, entry, explained, read};
use super::typing::TypedLine;
use crate::app::whole_looks::{follow, taken_off, whole};
use crate::fold::batch::{Batch, Event};
use crate::input::bench_line::{LineReading, label, line_of};
use crate::model::entry::{Amend, Entry, Kind};
use crate::model::id::Id;
use crate::model::value::{FieldType, Value};
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

/// The line with the cursor before who entered it and its day, which are seldom what is changed, and hide the rest on a
/// narrow screen.
fn field(line: &str, by: Option<&str>) -> TextField {
    let day = line.rfind(", on ").map_or("", |at| &line[at..]);
    let end = by.map(|by| format!(", who {by}{day}"));
    let end = end.filter(|end| line.ends_with(end.as_str()));
    TextField::before_the_end(line, end.as_deref().unwrap_or(day))
}

impl EntryScreen<AmendForm> {
    /// On an entry as it stands.
    #[must_use]
    pub fn open(entry: Entry, common: &Common) -> Self {
        let form = AmendForm {
            target: entry.id.clone(),
            before: line_of(&entry, &common.vocabulary),
            entry,
        };
        let typing = TypedLine::from_field(field(&form.before, form.entry.by.as_deref()));
        Self::new(form, typing)
    }
}

impl AmendForm {
    /// The amends that make the entry what the line says, its own first, then those of the looks that follow from it; none
    /// if it says what it said.
    fn change(&self, reading: &LineReading, common: &Common) -> Result<Vec<NewEntry>, String> {
        let standing = match common.book.entry(&self.target) {
            Some(standing) => standing.entry.whole(),
            // Climate lines are too many to be sought at every key.
            None if matches!(self.entry.kind, Kind::Climate(_)) => self.entry.clone(),
            None => return Err("That entry counts no longer.".to_owned()),
        };
        if !reading.is_whole() {
            let wrong = reading.complaints().into_iter().next();
            return Err(wrong.unwrap_or_else(|| "Nothing was understood.".to_owned()));
        }
        if reading.kind != Some(standing.kind.word()) {
            return Err(
                "The kind of an entry cannot be amended: withdraw it, and enter the right one."
                    .to_owned(),
            );
        }
        let mut set = reading.changes_to(&standing);
        if set.is_empty() {
            return Ok(Vec::new());
        }
        let after = self.event(common).map_or_else(Vec::new, |(event, batch)| {
            let now = entry(reading, common).map(|(now, _)| taken_off(&now.kind, batch));
            let before = taken_off(&event.entry.kind(), batch);
            let now = now.unwrap_or(before);
            // A look at all that remained saw as many more as fewer were dead.
            if let Some(seen) = whole(event, batch)
                && now != before
                && set.iter().all(|(name, _)| name != "seen")
            {
                let seen = seen.saturating_add(before).saturating_sub(now);
                set.push(("seen".to_owned(), seen.write()));
            }
            follow(batch, &self.target, before.saturating_sub(now))
        });
        let kind = Kind::Amend(Box::new(Amend {
            target: self.target.clone(),
            set,
        }));
        let own = NewEntry { kind, note: None };
        Ok(std::iter::once(own).chain(after).collect())
    }

    /// The entry in the life of its batch.
    fn event<'a>(&self, common: &'a Common) -> Option<(&'a Event, &'a Batch)> {
        let stick = self.entry.kind.batch_named()?.stick?;
        let batch = common.book.batch(stick)?;
        let mut events = batch.events.iter();
        let event = events.find(|event| event.entry.id == self.target)?;
        Some((event, batch))
    }

    /// What else is put right with it, in words.
    fn following(changes: &[NewEntry], reading: &LineReading) -> Option<String> {
        let seen = changes.iter().filter_map(|new| match &new.kind {
            Kind::Amend(amend) => amend.set.iter().find(|(name, _)| name == "seen"),
            _ => None,
        });
        let seen: Vec<u32> = seen.filter_map(|(_, seen)| u32::read(seen)).collect();
        let said = reading.value("seen").and_then(u32::read);
        let other: Vec<String> = seen
            .iter()
            .filter(|seen| Some(**seen) != said)
            .map(ToString::to_string)
            .collect();
        (!other.is_empty())
            .then(|| format!("With it goes how many were seen: {}.", other.join(", ")))
    }

    /// What the line no longer says, in words.
    fn dropped(&self, reading: &LineReading) -> Option<String> {
        let set = reading.changes_to(&self.entry);
        let gone = set.iter().filter(|(_, value)| *value == Value::Null);
        let gone: Vec<String> = gone.map(|(name, _)| label(name)).collect();
        (!gone.is_empty()).then(|| format!("Left out now: {}.", gone.join(", ")))
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
            Ok(entries) if entries.is_empty() => Turn::back(),
            Ok(entries) => {
                let act = Act {
                    at: None,
                    entries,
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
        Some(field(&self.before, self.entry.by.as_deref()))
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
            Ok(changes) if changes.is_empty() => {
                row = canvas.wrapped(row, 2, "Nothing is changed yet.", Tone::Plain);
            }
            Ok(changes) => {
                let (said, doubts) = explained(&readings, &draft.typing);
                let said = format!("It will say: {}", said.join(" "));
                row = canvas.wrapped(row, 2, &said, Tone::Plain);
                if let Some(words) = Self::following(&changes, reading) {
                    row = canvas.wrapped(row, 2, &words, Tone::Plain);
                }
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
    let mut amend = AmendScreen::open(standing.entry.whole(), common);
    amend.draft.typing = TypedLine::new(text);
    Some(amend)
}
