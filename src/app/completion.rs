//! Entries completed for writing: id, time, who, the batch's identity, what a look saw. It writes nothing.

use super::desk::Desk;
use super::failure::Failure;
use super::mends::put_right;
use super::prepared::{PreparedTransaction, Transaction};
use super::writer::following_code;
use crate::fold::batch::Batch;
use crate::model::at::At;
use crate::model::entry::{Entry, Kind, Look, Takes};
use crate::model::listed::LookMethod;
use crate::model::value::FieldType;
use chrono::NaiveDate;
use std::sync::Arc;

impl Desk {
    /// Completes entries: id, time, who, the batch's identity, the next code where none is given.
    ///
    /// # Errors
    /// If one breaks a rule of its kind, or names a batch that is not there.
    pub fn prepare(&mut self, act: Transaction) -> Result<PreparedTransaction, Failure> {
        let at = act.at.unwrap_or_else(|| At::Time(self.clock.now()));
        let mut code = self.next_code(at)?;
        let mut made: Vec<Entry> = Vec::new();
        let (mut examined_all, mut allotted) = (Vec::new(), Vec::new());
        let mut new_id = self.clock.ids();
        let is_alone = act.entries.len() == 1;
        for new in act.entries {
            let id = new_id();
            let mut kind = new.kind;
            if let Some(blank) = kind.code_begun_mut().filter(|code| code.trim().is_empty()) {
                blank.clone_from(&code);
                code = following_code(&code);
                allotted.push(id.clone());
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
            allotted,
        })
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
