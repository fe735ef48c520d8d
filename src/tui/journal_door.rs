//! The desk behind the screens' door: what the screens ask for, done with the use cases of the desk.
//! It decides nothing about what is shown.

use super::effect::Door;
use super::effect::{Act, Recorded, Refusal, SAVED_DRAFT, Snapshot};
use crate::app::desk::{Desk, UnreadPart};
use crate::app::failure::Failure;
use crate::app::files::{DraftFile, Orphan, orphans};
use crate::app::memory::Memory;
use crate::app::prepared::ids_in;
use crate::app::record;
use crate::app::record::{EntriesStanding, NewEntry, PreparedTransaction, Unsaved};
use crate::app::sums::{Misfit, news};
use crate::app::vocabulary::vocabulary_after;
use crate::app::writer::state_folder;
use crate::fold::Book;
use crate::input::bench_line::{Vocabulary, line_without_when};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind, Withdraw};
use crate::model::fault::{Fault, Origin};
use crate::model::id::Id;
use crate::text::faults;
use chrono::{DateTime, FixedOffset};
use std::sync::Arc;

/// The open journal behind the door of the screens.
pub struct JournalDoor {
    desk: Desk,
    vocabulary: Arc<Vocabulary>,
    draft: Option<Arc<DraftFile>>,
    /// The draft as it was last kept.
    text: String,
    orphans: Vec<Orphan>,
    /// What was refused or is in doubt: handed in again it keeps its ids.
    pending: Option<(Act, PreparedTransaction)>,
    /// The book as it was before what was written last, until that is worked in.
    before: Option<Arc<Book>>,
}

impl JournalDoor {
    /// A door to this desk. Without a place for drafts it works all the same, and keeps none.
    ///
    /// # Errors
    /// If this machine's own file name can be neither read nor kept.
    pub fn open(mut desk: Desk) -> Result<Self, Failure> {
        desk.fold_ahead();
        let drafts = state_folder(desk.settings()).join("drafts");
        let left = orphans(&drafts).unwrap_or_default();
        let sitting = desk.clock().new_id().to_string();
        let draft = DraftFile::begin(&drafts, &sitting).ok().map(Arc::new);
        let words = gather(&mut desk, None)?;
        Ok(Self {
            desk,
            vocabulary: words,
            draft,
            text: String::new(),
            orphans: left,
            pending: None,
            before: None,
        })
    }

    /// The same act keeps its entries, so that it is never entered twice.
    fn prepared(&mut self, act: &Act, by: &str) -> Result<PreparedTransaction, Refusal> {
        if let Some((held, prepared)) = &self.pending
            && held == act
        {
            return Ok(prepared.clone());
        }
        let dated = act.at.is_some();
        let whole = record::Transaction {
            at: act.at.map(|at| self.zoned(at)),
            by: Some(by.trim().to_owned()).filter(|by| !by.is_empty()),
            entries: act.entries.clone(),
        };
        let refused = |failure: Failure| refusal(&failure);
        let fresh = self.desk.prepare(whole).map_err(refused)?;
        let first = self.pending.as_ref().filter(|_| !self.text.is_empty());
        let Some((_, first)) = first else {
            return Ok(fresh);
        };
        // The first may stand: what was typed then and is changed now is put right, not entered beside it.
        self.desk.refresh();
        self.desk.instead_of(first, fresh, dated).map_err(refused)
    }

    /// Nothing is checked, named or numbered against a book without what was written last.
    fn catch_up(&mut self) {
        if self.before.take().is_some() {
            self.desk.refresh();
        }
    }

    /// Keeps the draft with the lines that it is to become, so that a sitting cut off now knows them.
    fn keep_lines(&mut self, lines: Vec<String>) {
        if let Some(draft) = self.draft.as_ref().filter(|_| !self.text.is_empty()) {
            draft.becomes(lines);
            // Whether it is kept is told with the next key; the entry itself is on its way to a safer place.
            let _ = draft.keep(&self.text);
        }
    }

    /// A time typed with today's offset gets the one of its own day.
    fn zoned(&self, at: At) -> At {
        match at {
            At::Time(time) if time.offset() == self.desk.clock().now().offset() => {
                let local = time.naive_local();
                let offset = self.desk.clock().offset_at(local);
                local
                    .and_local_timezone(offset)
                    .single()
                    .map_or(at, At::Time)
            }
            other => other,
        }
    }

    fn save(&mut self, act: &Act, mut prepared: PreparedTransaction) -> Result<Recorded, Refusal> {
        self.keep_lines(prepared.lines().unwrap_or_default());
        match self.desk.write(&mut prepared) {
            Ok(()) => {
                self.pending = None;
                self.before = Some(Arc::clone(self.desk.book()));
                Ok(recorded(act, &prepared, &self.vocabulary))
            }
            Err(unsaved) => {
                let why = refusal(unsaved.failure());
                if matches!(unsaved, Unsaved::Unknown(_)) {
                    self.pending = Some((act.clone(), prepared));
                } else if self.pending.is_none() {
                    self.keep_lines(Vec::new());
                }
                Err(why)
            }
        }
    }
}

/// What is said of codes and sums while a part of the journal cannot be read.
const PARTLY_READ: &str =
    "A part of the journal cannot be read now: codes and sums were checked without it.";

fn gather(desk: &mut Desk, before: Option<&Vocabulary>) -> Result<Arc<Vocabulary>, Failure> {
    let now = At::Time(desk.clock().now());
    vocabulary_after(before, desk, now).map(Arc::new)
}

fn file_names(desk: &Desk) -> Arc<[String]> {
    let files = desk.files();
    let name = |path: &std::path::PathBuf| {
        let name = path.file_name().unwrap_or(path.as_os_str());
        name.to_string_lossy().into_owned()
    };
    files.iter().map(name).collect()
}

fn refusal(failure: &Failure) -> Refusal {
    let mut lines = vec![failure.message.clone()];
    lines.extend(failure.hints.iter().cloned());
    Refusal {
        lines,
        mends: Vec::new(),
    }
}

/// Entries as bench lines, one after the other, their codes given by now.
fn lines(entries: &[Entry], vocabulary: &Vocabulary) -> String {
    let line = |entry: &Entry| match &entry.kind {
        Kind::Amend(amend) => {
            let fields: Vec<String> = amend
                .set
                .iter()
                .map(|(field, _)| field.replace('_', " "))
                .collect();
            format!("{} amended", fields.join(" and "))
        }
        _ => line_without_when(entry, vocabulary),
    };
    entries.iter().map(line).collect::<Vec<_>>().join("; ")
}

fn recorded(act: &Act, prepared: &PreparedTransaction, vocabulary: &Vocabulary) -> Recorded {
    let entries = prepared.entries();
    let begun = |entry: &Entry| entry.kind.code_begun().map(str::to_owned);
    Recorded {
        ids: entries.iter().map(|entry| entry.id.clone()).collect(),
        codes: entries.iter().filter_map(begun).collect(),
        summary: match act.summary.as_str() {
            "" => lines(entries, vocabulary),
            summary => summary.to_owned(),
        },
        remarks: Vec::new(),
        undoes: false,
    }
}

/// What the journal shows as odd since then, in words, with the key that takes it back.
fn remarks(odd: &[Fault]) -> Vec<String> {
    let mut lines: Vec<String> = odd.iter().map(faults::of_batch).collect();
    if !lines.is_empty() {
        lines.push("If that is a slip, u undoes it.".to_owned());
    }
    lines
}

/// The sums that cannot be, in words, with the amends that mend them.
fn unfit(misfits: Vec<Misfit>) -> Refusal {
    let mut out = Refusal::default();
    for misfit in misfits {
        out.lines.extend(misfit.sentences());
        out.mends.extend(misfit.mend);
    }
    out.lines.push("Nothing was saved.".to_owned());
    out
}

impl Door for JournalDoor {
    fn now(&self) -> DateTime<FixedOffset> {
        self.desk.clock().now()
    }

    fn snapshot(&self) -> Snapshot {
        Snapshot {
            book: Arc::clone(self.desk.book()),
            vocabulary: Arc::clone(&self.vocabulary),
            files: file_names(&self.desk),
            unread: self.desk.unread().map(UnreadPart::sentence),
        }
    }

    fn refresh(&mut self) -> Result<Option<Snapshot>, Refusal> {
        if !self.desk.follow() {
            return Ok(None);
        }
        self.vocabulary =
            gather(&mut self.desk, Some(&self.vocabulary)).map_err(|failure| refusal(&failure))?;
        Ok(Some(self.snapshot()))
    }

    fn raw(&self, origin: Origin) -> Option<Vec<u8>> {
        self.desk.raw_line(origin)
    }

    fn record(&mut self, act: &Act, by: &str) -> Result<Recorded, Refusal> {
        self.catch_up();
        let prepared = self.prepared(act, by)?;
        let misfits = self.desk.misfits(&prepared);
        if !misfits.is_empty() {
            return Err(unfit(misfits));
        }
        self.save(act, prepared)
    }

    fn withdraw(&mut self, ids: &[Id], summary: &str, by: &str) -> Result<Recorded, Refusal> {
        self.catch_up();
        // The last first, so that a part goes before the batch that it left.
        let entries = ids.iter().rev().map(|id| NewEntry {
            kind: Kind::Withdraw(Box::new(Withdraw {
                target: id.clone(),
                reason: None,
            })),
            note: None,
        });
        let act = Act {
            at: None,
            entries: entries.collect(),
            summary: summary.to_owned(),
        };
        let prepared = self.prepared(&act, by)?;
        let done = self.save(&act, prepared)?;
        Ok(Recorded {
            undoes: true,
            ..done
        })
    }

    fn work_in(&mut self, mut recorded: Recorded) -> Recorded {
        let before = self.before.take();
        // Saved is saved: should reading it back fail now, the next look for others' entries tells.
        self.desk.refresh();
        if let Ok(vocabulary) = gather(&mut self.desk, Some(&self.vocabulary)) {
            self.vocabulary = vocabulary;
        }
        if let Some(before) = before.filter(|_| !recorded.undoes) {
            recorded.remarks = remarks(&news(&before, self.desk.book()));
            if self.desk.unread().is_some() {
                recorded.remarks.push(PARTLY_READ.to_owned());
            }
        }
        recorded
    }

    fn memory(&self) -> Memory {
        self.desk.memory()
    }

    fn remember(&mut self, memory: &Memory) {
        // If it cannot be kept, the next sitting asks and cautions anew: nothing is lost by that.
        let _ = self.desk.remember(memory);
    }

    fn keep(&mut self, draft: &str) -> bool {
        let is_given_up = draft.is_empty() && !self.text.is_empty();
        draft.clone_into(&mut self.text);
        if is_given_up {
            // What the first write of an act left is no longer this sitting's to put right.
            self.pending = None;
        }
        if self.draft.is_none() && !draft.is_empty() {
            // There was no room for it at the start; there may be by now.
            let sitting = self.desk.clock().new_id().to_string();
            let file = DraftFile::begin(&self.desk.drafts(), &sitting);
            self.draft = file.ok().map(Arc::new);
        }
        let file = self.draft.as_ref();
        draft.is_empty() && file.is_none() || file.is_some_and(|file| file.keep(draft).is_ok())
    }

    fn offered(&mut self) -> Option<String> {
        let held = self.orphans.first()?.held.clone();
        let ids = ids_in(&held.lines);
        if ids.is_empty() {
            return Some(held.text);
        }
        let saved = match self.desk.standing(&ids) {
            EntriesStanding::None => false,
            EntriesStanding::All => true,
            // All or none: the rest of what was entered follows, under its own ids.
            EntriesStanding::Some => self.desk.complete(&held.lines).is_ok(),
        };
        Some(match ids.first().filter(|_| saved) {
            Some(id) => format!("{SAVED_DRAFT}\t{id}\t{}", held.text),
            None => held.text,
        })
    }

    fn drop_offered(&mut self) {
        if !self.orphans.is_empty() {
            // If it cannot be removed it is offered again: better twice than never.
            let _ = self.orphans.remove(0).remove();
        }
    }

    fn saver(&self) -> Box<dyn Fn(&str) + Send> {
        let file = self.draft.clone();
        Box::new(move |draft| {
            if let Some(file) = &file {
                let _ = file.keep(draft);
            }
        })
    }
}
