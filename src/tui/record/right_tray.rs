//! An entry on the wrong tray is put to the right one: its batch is picked, and one act amends it with all that was entered
//! of one moment with it and all that follows from it. It writes nothing itself.

use crate::app::whole_looks::{follow, taken_off, whole};
use crate::fold::batch::{Batch, Event};
use crate::input::bench_line::line_without_when;
use crate::model::at::At;
use crate::model::composite::Set;
use crate::model::entry::{Amend, Entry, Kind};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::text::{folded, split_spot};
use crate::model::value::FieldType;
use crate::text::bench::walking_key;
use crate::tui::batch_list::{batches_called, draw_batches};
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::{Common, SavedAct};
use crate::tui::effect::{Act, Effect, NewEntry};
use crate::tui::field::{Erasure, TextField};
use crate::tui::keys::{Command, KeyContext, KeyPress};
use crate::tui::screen::{Screen, Turn};
use std::sync::Arc;

/// What is said of an entry that has no batch to leave.
const STAYS: &str = "It began its batch, or is about none: it stays where it is.";

/// The batch being picked.
#[derive(Debug)]
pub struct RightTrayScreen {
    /// The entry on the wrong tray.
    entry: Id,
    /// The batch that it stands on.
    wrong: Id,
    field: TextField,
    chosen: usize,
    found: Vec<Arc<Batch>>,
}

impl RightTrayScreen {
    /// For an entry of a batch.
    ///
    /// # Errors
    /// Why it cannot go to another batch, in words.
    pub fn open(entry: &PackedEntry, common: &Common) -> Result<Self, String> {
        let kind = entry.kind();
        let stick = kind.batch_named().and_then(|named| named.stick);
        let batch = stick.and_then(|key| common.book.batch(key));
        let batch = batch.filter(|_| kind.code_begun().is_none());
        let Some(batch) = batch else {
            return Err(STAYS.to_owned());
        };
        let mut screen = Self {
            entry: entry.id.clone(),
            wrong: batch.key.clone(),
            field: TextField::default(),
            chosen: 0,
            found: Vec::new(),
        };
        screen.search(common);
        Ok(screen)
    }

    /// The batches to pick from; while nothing is typed the open ones in walking order, those of the same place first.
    fn search(&mut self, common: &Common) {
        self.chosen = 0;
        self.found = batches_called(self.field.text(), &common.book, &common.vocabulary);
        let Some(wrong) = common.book.batch(&self.wrong) else {
            return;
        };
        let going = self.going(wrong);
        let day = going.first().map(|event| event.entry.at.day());
        let fits = |batch: &Batch| day.is_none_or(|day| batch.stuck_on <= day);
        self.found
            .retain(|batch| batch.key != self.wrong && fits(batch));
        if self.field.is_empty() {
            let place = |batch: &Batch| {
                let place = batch.place.as_deref().unwrap_or_default();
                (folded(split_spot(place).0), place.to_owned())
            };
            let (here, _) = place(wrong);
            self.found.retain(|batch| batch.is_open());
            self.found.sort_by_cached_key(|batch| {
                let (name, place) = place(batch);
                (name != here, walking_key(&place, &batch.code))
            });
        }
    }

    /// The entry on the wrong tray, and those of the same moment there: what one act wrote goes together.
    fn going<'a>(&self, wrong: &'a Batch) -> Vec<&'a Event> {
        let events = &wrong.events;
        let own = events.iter().find(|event| event.entry.id == self.entry);
        let Some(own) = own else {
            return Vec::new();
        };
        let with_it = |event: &&Event| {
            let is_own = event.entry.id == self.entry;
            let same = matches!(event.entry.at, At::Time(_)) && event.entry.at == own.entry.at;
            (is_own || same) && event.entry.kind().code_begun().is_none()
        };
        events.iter().filter(with_it).collect()
    }

    /// The act that puts it right.
    fn act(&self, right: &Batch, common: &Common) -> Option<Act> {
        let wrong = common.book.batch(&self.wrong)?;
        let going = self.going(wrong);
        let first = going.first()?;
        let mut entries: Vec<NewEntry> = Vec::new();
        for event in &going {
            entries.push(NewEntry {
                kind: Kind::Amend(Box::new(put_to(event, wrong, right))),
                note: None,
            });
        }
        let off = going
            .iter()
            .map(|event| taken_off(&event.entry.kind(), wrong));
        let own = |new: &NewEntry| {
            let target = new.kind.target();
            going.iter().any(|it| Some(&it.entry.id) == target)
        };
        let mut later = follow(wrong, &first.entry.id, off.sum());
        later.retain(|new| !own(new));
        entries.extend(later);
        Some(Act {
            at: None,
            entries,
            summary: format!(
                "of {}, not {}: {}",
                right.code,
                wrong.code,
                said(&going, common)
            ),
        })
    }

    fn accept(&mut self, common: &mut Common) -> Turn {
        let Some(right) = self.found.get(self.chosen) else {
            return Turn::back();
        };
        match self.act(right, common) {
            Some(act) => Turn::effect(Effect::Record(act)),
            None => Turn::back(),
        }
    }
}

/// The amend that puts an entry to another batch. A look at all that remained there is one at all that remained here.
fn put_to(event: &Event, wrong: &Batch, right: &Batch) -> Amend {
    let mut set: Set = vec![
        ("batch".to_owned(), right.code.write()),
        ("stick".to_owned(), right.key.write()),
    ];
    if whole(event, wrong).is_some() {
        let before = right.remain_on(event.entry.at.day());
        let seen = before.saturating_sub(taken_off(&event.entry.kind(), right));
        set.push(("seen".to_owned(), seen.write()));
    }
    Amend {
        target: event.entry.id.clone(),
        set,
    }
}

/// What goes to the other batch, in words.
fn said(going: &[&Event], common: &Common) -> String {
    let lines = going.iter().map(|event| {
        let entry = Entry {
            by: None,
            ..event.entry.whole()
        };
        let line = line_without_when(&entry, &common.vocabulary);
        let code = entry.kind.batch_named().map_or("", |named| named.code);
        line.replacen(&format!(" {code}"), "", 1)
    });
    lines.collect::<Vec<_>>().join("; ")
}

impl Screen for RightTrayScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, _common: &Common) -> String {
        "To the right tray".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.found.len().saturating_sub(1);
        match command {
            Command::Accept => return self.accept(common),
            Command::ChooseNext | Command::Complete => self.chosen = (self.chosen + 1).min(last),
            Command::ChoosePrevious => self.chosen = self.chosen.saturating_sub(1),
            _ => match self.field.erase(command) {
                Some(Erasure::WasEmpty) => return Turn::back(),
                Some(Erasure::Done) => self.search(common),
                None => {}
            },
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.field.press(press);
        self.search(common);
        Turn::stay()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.field.insert(text);
        self.search(common);
        Turn::stay()
    }

    fn recorded(&mut self, _common: &mut Common, _done: &SavedAct) -> Turn {
        Turn::back()
    }

    fn typed_text(&self) -> &str {
        self.field.text()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        let Some(wrong) = common.book.batch(&self.wrong) else {
            return;
        };
        let going = said(&self.going(wrong), common);
        let said = format!("Not of {}: {going}. Of which tray?", wrong.code);
        let row = canvas.wrapped(1, 2, &said, Tone::Plain);
        if self.found.is_empty() {
            canvas.text(row, 2, "No tray is called so.", Tone::Plain);
        }
        let room = canvas.height().saturating_sub(row).max(1);
        let first = self.chosen / room * room;
        let shown: Vec<&Arc<Batch>> = self.found.iter().skip(first).take(room).collect();
        draw_batches(&shown, self.chosen.checked_sub(first), row, common, canvas);
    }
}
