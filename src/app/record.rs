//! Recording: complete the entries, check the sums, append durably, fold. Nothing is saved but through here.

use super::desk::{Desk, disk_failure};
use super::failure::Failure;
use super::mends::put_right;
pub use super::prepared::{NewEntry, PreparedTransaction, Transaction};
use super::writer::{Writer, following_code, next_code};
use crate::fold::batch::Batch;
use crate::journal::append::{AppendDoubt, AppendOutcome, AppendRefusal, PriorAppend};
use crate::journal::codec::encode;
use crate::model::at::At;
use crate::model::entry::{Entry, Kind, Look, Takes};
use crate::model::listed::LookMethod;
use crate::model::value::FieldType;
use chrono::NaiveDate;
use std::sync::Arc;

/// Why entries are not known to be saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unsaved {
    /// Nothing was written.
    Refused(Failure),
    /// Some or all may have been written: save the same prepared entries again.
    Unknown(Failure),
}

impl Unsaved {
    /// What to tell.
    #[must_use]
    pub fn failure(&self) -> &Failure {
        match self {
            Self::Refused(failure) | Self::Unknown(failure) => failure,
        }
    }
}

impl Desk {
    /// Completes entries: id, time, who, the batch's identity, the next code where none is given.
    ///
    /// # Errors
    /// If one breaks a rule of its kind, or names a batch that is not there.
    pub fn prepare(&mut self, act: Transaction) -> Result<PreparedTransaction, Failure> {
        let at = act.at.unwrap_or_else(|| At::Time(self.clock.now()));
        let mut code = self.next_code(at)?;
        let mut made: Vec<Entry> = Vec::new();
        let mut examined_all = Vec::new();
        let mut new_id = self.clock.ids();
        let is_alone = act.entries.len() == 1;
        for new in act.entries {
            let id = new_id();
            let mut kind = new.kind;
            if let Some(blank) = kind.code_begun_mut().filter(|code| code.trim().is_empty()) {
                blank.clone_from(&code);
                code = following_code(&code);
            }
            self.name_batch(&mut kind, at, &made)?;
            if let Kind::Look(look) = &mut kind {
                let is_said = look.seen.is_some();
                self.complete_look(look, at, &made);
                examined_all.extend(look.seen.filter(|_| !is_said).map(|_| id.clone()));
            }
            // What is put right with an entry of another day is put right today: of several amends the last stands.
            let at = match &kind {
                Kind::Amend(_) if !is_alone => At::Time(self.clock.now()),
                _ => at,
            };
            none_counted(&kind)?;
            self.keep_order(&kind)?;
            let entry = Entry {
                id,
                at,
                by: act.by.clone(),
                note: new.note,
                kind,
            };
            let checked = entry
                .checked()
                .map_err(|fault| Failure::usage(crate::text::faults::entry_sentence(&fault)))?;
            made.push(checked);
        }
        Ok(PreparedTransaction {
            entries: made,
            examined_all,
        })
    }

    /// The code that the next batch would get.
    ///
    /// # Errors
    /// If this machine's own letter cannot be read.
    pub fn next_code(&mut self, at: At) -> Result<String, Failure> {
        let own = self.own()?;
        let year = chrono::Datelike::year(&at.day());
        Ok(next_code(
            year,
            own.letter,
            self.all_codes().iter().map(String::as_str),
        ))
    }

    /// Every code that a batch bears.
    fn all_codes(&self) -> Vec<String> {
        self.book
            .batches()
            .iter()
            .map(|batch| batch.code.clone())
            .collect()
    }

    /// What this machine and user call their own in the journal.
    fn own(&mut self) -> Result<Writer, Failure> {
        if let Some(own) = &self.own {
            return Ok(own.clone());
        }
        let others = self.journal.files().len() > 0;
        let codes = self.all_codes();
        let own = Writer::settle(&self.settings, &self.clock, others, &codes)
            .map_err(|e| self.no_state(&e))?;
        self.own = Some(own.clone());
        Ok(own)
    }

    fn no_state(&self, error: &std::io::Error) -> Failure {
        let state = self.settings.state.display();
        Failure::could(format!("The state folder {state} cannot be used: {error}."))
            .hint("Make room there, or set XDG_STATE_HOME to a folder that you may write in.")
    }

    /// Writes the identity of the batch that an entry names, if it names one by its code alone.
    fn name_batch(&self, kind: &mut Kind, at: At, made: &[Entry]) -> Result<(), Failure> {
        let Some((code, stick)) = kind.batch_named_mut() else {
            return Ok(());
        };
        if let Some(key) = stick {
            let batch = self.book.batch(key);
            return batch.map_or(Ok(()), |batch| not_before(batch, at.day()));
        }
        let same = |entry: &&Entry| entry.kind.code_begun() == Some(code);
        if let Some(entry) = made.iter().rev().find(same) {
            *stick = Some(entry.id.clone());
            return Ok(());
        }
        let mut stuck_by = self
            .book
            .by_code(code)
            .filter(|batch| batch.stuck_on <= at.day());
        let Some(batch) = stuck_by.next_back() else {
            return Err(match self.book.by_code(code).next() {
                Some(later) => too_early(later, later.stuck_on, at.day()),
                None => Failure::could(format!("There is no batch {code}."))
                    .hint("See the codes with `struck batches`."),
            });
        };
        *stick = Some(batch.key.clone());
        Ok(())
    }

    /// Refuses an amended day that would put an entry before its batch began: it would count nowhere.
    fn keep_order(&self, kind: &Kind) -> Result<(), Failure> {
        let Kind::Amend(amend) = kind else {
            return Ok(());
        };
        let set = amend.set.iter().find(|(name, _)| name == "at");
        let Some(day) = set.and_then(|(_, at)| Some(At::read(at)?.day())) else {
            return Ok(());
        };
        if let Some(batch) = self.book.batch(&amend.target) {
            let mut days = batch.events.iter().skip(1).map(|e| e.entry.at.day());
            let Some(first) = days.find(|first| *first < day) else {
                return Ok(());
            };
            return Err(Failure::could(format!(
                "{} has an entry of {first}, which would come before that day.",
                batch.code
            ))
            .hint("Give an earlier day, or amend that entry first.")
            .hint("Nothing was saved."));
        }
        let is_own = |batch: &&Arc<Batch>| batch.events.iter().any(|e| e.entry.id == amend.target);
        let batch = self.book.batches().iter().find(is_own);
        batch.map_or(Ok(()), |batch| not_before(batch, day))
    }

    /// Says how the look was made, and how many were seen where anything was tallied: what was left
    /// unsaid means all that remained after its losses.
    fn complete_look(&self, look: &mut Look, at: At, made: &[Entry]) {
        let how = look.method();
        look.how = Some(how);
        let batch = look.stick.as_ref().and_then(|key| self.book.batch(key));
        if let Some(batch) = batch.filter(|_| how != LookMethod::Glance && look.seen.is_none()) {
            let more = more_put_right(batch, made);
            look.seen = Some(all_seen(batch, look, at).saturating_add(more));
        }
    }

    /// Appends entries; they are on stable storage when this returns, and the book holds them.
    ///
    /// # Errors
    /// Why they are not, or not known to be.
    pub fn save(&mut self, prepared: &PreparedTransaction) -> Result<(), Unsaved> {
        let lines = prepared
            .entries
            .iter()
            .map(encode)
            .collect::<Result<Vec<_>, _>>();
        let lines = lines.map_err(|error| Unsaved::Refused(refused(&error.into())))?;
        self.append(&lines)?;
        // Saved is saved: should reading it back fail now, the next refresh tells.
        let _ = self.refresh();
        Ok(())
    }

    /// Appends lines in one write; they are on stable storage when this returns. The book is not read anew.
    pub(super) fn append(&mut self, lines: &[Vec<u8>]) -> Result<(), Unsaved> {
        let own = self.own().map_err(Unsaved::Refused)?;
        own.keep(&self.settings)
            .map_err(|error| Unsaved::Refused(self.no_state(&error)))?;
        let target = self.journal.target(&own.name, &self.settings.holder());
        let after = if self.doubt {
            PriorAppend::Uncertain
        } else {
            PriorAppend::Settled
        };
        match self.journal.append_lines(&target, lines, after) {
            Ok(AppendOutcome::Saved { .. }) => {
                self.doubt = false;
                Ok(())
            }
            Ok(AppendOutcome::Unknown(doubt)) => {
                self.doubt = true;
                Err(Unsaved::Unknown(doubted(&doubt)))
            }
            Err(refusal) => Err(Unsaved::Refused(refused(&refusal))),
        }
    }
}

/// How many a look on that day saw if it saw all there were.
fn all_seen(batch: &Batch, look: &Look, at: At) -> u32 {
    let day = at.day();
    let mut before = batch.inspections.iter().rev();
    let before = before.find(|seen| seen.day <= day);
    let (known, remain) = match before {
        Some(seen) => (Some(seen.day), seen.remain),
        None => (None, batch.stick.stuck),
    };
    // A part that left is looked at by nobody.
    let since = batch.events.iter().filter(|event| {
        let of = event.entry.at.day();
        known.is_none_or(|known| of > known) && of <= day
    });
    let left = since.filter_map(|event| match event.entry.kind.takes() {
        Takes::Part(count) if event.entry.id != batch.key => Some(count),
        _ => None,
    });
    let lost = look.lost.map_or(0, |lost| lost.total());
    left.fold(remain.saturating_sub(lost), u32::saturating_sub)
}

/// How many more were stuck, or moved into it, than the batch says, by the amends of the same act.
fn more_put_right(batch: &Batch, made: &[Entry]) -> u32 {
    let right = put_right(batch, made);
    right.map_or(0, |right| right.saturating_sub(batch.stick.stuck))
}

/// Refuses an entry of a day before its batch began: by the format it would count nowhere.
fn not_before(batch: &Batch, day: NaiveDate) -> Result<(), Failure> {
    let begun = batch.events.first().map(|event| event.entry.at.day());
    let begun = begun.unwrap_or(batch.stuck_on);
    if day < begun {
        return Err(too_early(batch, begun, day));
    }
    Ok(())
}

fn too_early(batch: &Batch, begun: NaiveDate, day: NaiveDate) -> Failure {
    let (code, key) = (&batch.code, &batch.key);
    let done = if batch.part.is_some() {
        "split off"
    } else {
        "stuck"
    };
    Failure::could(format!(
        "{code} was {done} on {begun}, after the day of this entry, {day}."
    ))
    .hint(format!(
        "Give a later day; or if it was {done} earlier: struck add \"amend {key}: dated {day}\", then enter this again."
    ))
    .hint("Nothing was saved.")
}

/// Refuses a count of none: nothing was done then.
fn none_counted(kind: &Kind) -> Result<(), Failure> {
    let (count, done) = match kind {
        Kind::Pot(it) => (it.count, "potted"),
        Kind::Ready(it) => (it.count, "ready"),
        Kind::Sold(it) => (it.count, "sold"),
        Kind::Discard(it) => (it.count, "discarded"),
        Kind::Move(it) => (it.count.unwrap_or(1), "moved"),
        _ => return Ok(()),
    };
    if count > 0 {
        return Ok(());
    }
    Err(
        Failure::usage(format!("0 {done} is no entry: a count is at least 1."))
            .hint("Nothing was saved."),
    )
}

fn refused(refusal: &AppendRefusal) -> Failure {
    let failure = match refusal {
        AppendRefusal::Disk(trouble) => return disk_failure(trouble).hint("Nothing was saved."),
        other => Failure::could(format!("{other}.")),
    };
    failure.hint(refusal.remedy()).hint("Nothing was saved.")
}

fn doubted(doubt: &AppendDoubt) -> Failure {
    let failure = match doubt {
        AppendDoubt::Disk(trouble) => {
            return disk_failure(trouble)
                .hint("Do not count on the entry: save it again. Nothing is entered twice.");
        }
        other => Failure::could(format!("{other}.")),
    };
    failure.hint(doubt.remedy())
}
