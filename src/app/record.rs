//! Recording: complete the entries, check the sums, append durably, fold. Nothing is saved but through here.

use super::desk::{Desk, disk_failure};
use super::failure::Failure;
use super::mends::put_right;
pub use super::prepared::{NewEntry, PreparedTransaction, Transaction};
use super::writer::{Writer, code_letter, following_code, next_code};
use crate::fold::batch::Batch;
use crate::journal::append::{
    AppendDoubt, AppendOutcome, AppendRefusal, PriorAppend, Target, append_locked, lock,
};
use crate::journal::codec::encode;
use crate::journal::reading::{Journal, Root};
use crate::model::at::At;
use crate::model::entry::{Amend, Entry, Kind, Look, Withdraw};
use crate::model::id::Id;
use crate::model::listed::LookMethod;
use crate::model::value::FieldType;
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashSet};

/// Why entries are not known to be saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unsaved {
    /// Nothing was written.
    Refused(Failure),
    /// Some or all may have been written: save the same prepared entries again.
    Unknown(Failure),
}

impl Unsaved {
    /// The failure to show.
    #[must_use]
    pub fn failure(&self) -> &Failure {
        match self {
            Self::Refused(failure) | Self::Unknown(failure) => failure,
        }
    }
}

/// How many of some entries stand in the journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EntriesStanding {
    /// All of them.
    All,
    /// Some, not all.
    Some,
    /// None.
    None,
}

impl Desk {
    /// Completes entries: id, time, who, the batch's identity, the next code where none is given.
    ///
    /// # Errors
    /// If one breaks a rule of its kind, or names a batch that is not there.
    pub fn prepare(&mut self, act: Transaction) -> Result<PreparedTransaction, Failure> {
        let at = act.at.unwrap_or_else(|| At::Time(self.clock.now()));
        let begins = |new: &NewEntry| new.kind.code_begun().is_some_and(|it| it.trim().is_empty());
        let mut code = match act.entries.iter().any(begins) {
            true => self.next_code(at)?,
            false => String::new(),
        };
        let mut made: Vec<Entry> = Vec::new();
        let (mut examined_all, mut allotted) = (Vec::new(), Vec::new());
        let mut new_id = self.clock.ids();
        let is_alone = act.entries.len() == 1;
        for new in act.entries {
            let id = new_id();
            let mut kind = new.kind;
            if let Some(blank) = kind.code_begun_mut().filter(|code| code.trim().is_empty()) {
                *blank = code.as_str().into();
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
                by: act.by.as_deref().map(Into::into),
                note: new.note.map(Into::into),
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

    /// The code that the next batch would get.
    ///
    /// # Errors
    /// If this machine's own letter cannot be read.
    pub fn next_code(&mut self, at: At) -> Result<String, Failure> {
        let own = self.own()?;
        let year = chrono::Datelike::year(&at.day());
        Ok(next_code(year, own.letter, self.all_codes()))
    }

    /// Every code that a batch bears.
    fn all_codes(&self) -> impl Iterator<Item = &str> {
        let rows = self.book.roster().iter();
        rows.map(|row| row.code.as_str())
    }

    /// What this machine and user call their own in the journal.
    fn own(&mut self) -> Result<Writer, Failure> {
        if let Some(own) = &self.own {
            return Ok(own.clone());
        }
        let others = self.journal.files().len() > 0;
        let mut own = Writer::settle(&self.settings, &self.clock, others, self.all_codes())
            .map_err(|e| self.no_state(&e))?;
        if self.is_letter_anothers(&own) {
            own.take_free_letter(&self.clock, self.all_codes());
        }
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

    /// Refuses an amended day, or batch, that would put an entry before its batch began: it would count nowhere.
    fn keep_order(&self, kind: &Kind) -> Result<(), Failure> {
        let Kind::Amend(amend) = kind else {
            return Ok(());
        };
        let entry = self.book.entry(&amend.target);
        if let (Some(key), Some(standing)) = (amend.batch_set(), entry)
            && let Some(batch) = self.book.batch(&key)
        {
            not_before(batch, standing.entry.at.day())?;
        }
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
        let target = BTreeSet::from([&amend.target]);
        let batch = self.book.batches_with(&target).next();
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

    /// Whether another file of the journal, begun before this writer's own, has the writer's letter in its codes: two
    /// machines that began before either saw the other's file both took themselves for the first.
    fn is_letter_anothers(&self, own: &Writer) -> bool {
        if self.settings.is_lone_file() {
            return false;
        }
        let first_ids: Vec<Option<&Id>> = self.journal.first_ids().collect();
        let number = self.journal.files().position(|path| {
            path.file_name()
                .is_some_and(|name| name.as_encoded_bytes() == own.name.as_bytes())
        });
        // A writer that has yet to write comes after all who wrote.
        let mine = number.and_then(|number| first_ids.get(number).copied().flatten());
        let is_earlier = |file: u32| {
            let file = usize::try_from(file).unwrap_or(usize::MAX);
            let theirs = first_ids.get(file).copied().flatten();
            Some(file) != number
                && theirs.is_some_and(|theirs| mine.is_none_or(|mine| theirs < mine))
        };
        let year = self.clock.now().format("%y-").to_string();
        let mut rows = self.book.roster().iter();
        rows.any(|row| {
            row.code.starts_with(&year)
                && code_letter(&row.code) == Some(own.letter)
                && is_earlier(row.origin.file)
        })
    }

    /// Appends entries; they are on stable storage when this returns, and the book holds them.
    ///
    /// # Errors
    /// Why they are not, or not known to be.
    pub fn save(&mut self, prepared: &mut PreparedTransaction) -> Result<(), Unsaved> {
        self.write(prepared)?;
        // Saved is saved: should reading it back fail now, the next refresh tells.
        self.refresh();
        Ok(())
    }

    /// Appends entries; they are on stable storage when this returns. The book holds them from the next
    /// [refresh](Self::refresh) on. Codes are allotted under the journal's lock, after what others wrote meanwhile was read.
    ///
    /// # Errors
    /// Why they are not, or not known to be.
    pub fn write(&mut self, prepared: &mut PreparedTransaction) -> Result<(), Unsaved> {
        let target = self.target()?;
        let disk = self.journal.disk();
        let held = lock(&*disk, &target);
        let locked = held.map_err(|refusal| Unsaved::Refused(refused(&refusal)))?;
        if !prepared.allotted.is_empty() {
            self.refresh();
            self.allot(prepared).map_err(Unsaved::Refused)?;
        }
        let lines = prepared
            .entries
            .iter()
            .map(encode)
            .collect::<Result<Vec<_>, _>>();
        let lines = lines.map_err(|error| Unsaved::Refused(refused(&error.into())))?;
        let outcome = append_locked(&*disk, &target, &locked, &lines, self.prior());
        drop(locked);
        self.settle(outcome)
    }

    /// Whether entries of these ids stand in the journal: all, none, or some.
    #[must_use]
    pub fn standing(&self, ids: &[Id]) -> EntriesStanding {
        let wanted: HashSet<&Id> = ids.iter().collect();
        let stand = self.book.entries().iter();
        let count = stand.filter(|it| wanted.contains(&it.entry.id)).count();
        match count {
            0 => EntriesStanding::None,
            all if all >= wanted.len() => EntriesStanding::All,
            _ => EntriesStanding::Some,
        }
    }

    /// What is to be saved where `first` may stand already and `changed` was to be said instead: the first entries
    /// again, under their ids, and with them the amends that make them say what was changed. Where the two are not of
    /// one shape, the first are withdrawn. `dated` says that the changed ones bear a time of their own.
    ///
    /// # Errors
    /// If an amend made of them breaks a rule.
    pub fn instead_of(
        &self,
        first: &PreparedTransaction,
        changed: PreparedTransaction,
        dated: bool,
    ) -> Result<PreparedTransaction, Failure> {
        let ids: Vec<Id> = first.entries.iter().map(|entry| entry.id.clone()).collect();
        if self.standing(&ids) == EntriesStanding::None {
            return Ok(changed);
        }
        let mut out = first.clone();
        let mut new_id = self.clock.ids();
        let now = At::Time(self.clock.now());
        let mut added = |kind: Kind, like: &Entry| Entry {
            id: new_id(),
            at: now,
            by: like.by.clone(),
            note: None,
            kind,
        };
        if changed.is_of_shape(first) {
            for (old, new) in first.entries.iter().zip(&changed.entries) {
                let set = old.changes_to(new, dated);
                if !set.is_empty() {
                    let target = old.id.clone();
                    out.entries
                        .push(added(Kind::Amend(Box::new(Amend { target, set })), new));
                }
            }
        } else if changed.shares_batch_with(first) {
            for old in first.entries.iter().rev() {
                let (target, reason) = (old.id.clone(), None);
                out.entries.push(added(
                    Kind::Withdraw(Box::new(Withdraw { target, reason })),
                    old,
                ));
            }
            out.entries.extend(changed.entries);
            out.allotted.extend(changed.allotted);
            out.examined_all.extend(changed.examined_all);
        } else {
            return Ok(changed);
        }
        for entry in &out.entries {
            let checked = entry.clone().checked();
            checked.map_err(|fault| Failure::usage(crate::text::faults::entry_sentence(&fault)))?;
        }
        Ok(out)
    }

    /// Appends lines of an act of which some stand already: the same lines again add nothing twice.
    ///
    /// # Errors
    /// Why they are not saved.
    pub fn complete(&mut self, lines: &[String]) -> Result<(), Unsaved> {
        let lines: Vec<Vec<u8>> = lines.iter().map(|line| line.clone().into_bytes()).collect();
        self.append(&lines)?;
        self.refresh();
        Ok(())
    }

    /// Gives the batches that are to begin the codes that are next now. Those that stand already, by a first try, keep
    /// theirs.
    fn allot(&mut self, prepared: &mut PreparedTransaction) -> Result<(), Failure> {
        if prepared
            .allotted
            .iter()
            .any(|id| self.book.batch(id).is_some())
        {
            return Ok(());
        }
        // Another file may have turned out to be the journal's first.
        self.own = None;
        let Some(at) = prepared.entries.first().map(|entry| entry.at) else {
            return Ok(());
        };
        let mut code = self.next_code(at)?;
        for id in prepared.allotted.clone() {
            if prepared.begun_by(&id) != Some(code.as_str()) {
                let recoded = prepared.recode(&id, &code);
                recoded
                    .map_err(|fault| Failure::usage(crate::text::faults::entry_sentence(&fault)))?;
            }
            code = following_code(&code);
        }
        Ok(())
    }

    /// The file that this writer appends to, its name kept. A journal that is not there yet is made.
    fn target(&mut self) -> Result<Target, Unsaved> {
        if *self.journal.root() == Root::Nowhere {
            let (disk, path) = (self.journal.disk(), &self.settings.journal);
            let made = Journal::create(disk, path, self.settings.threads);
            self.journal = made.map_err(|error| Unsaved::Refused(disk_failure(&error)))?;
        }
        let own = self.own().map_err(Unsaved::Refused)?;
        own.keep(&self.settings)
            .map_err(|error| Unsaved::Refused(self.no_state(&error)))?;
        Ok(self.journal.target(&own.name, &self.settings.holder()))
    }

    fn prior(&self) -> PriorAppend {
        if self.doubt {
            PriorAppend::Uncertain
        } else {
            PriorAppend::Settled
        }
    }

    fn settle(&mut self, outcome: Result<AppendOutcome, AppendRefusal>) -> Result<(), Unsaved> {
        match outcome {
            Ok(AppendOutcome::Saved { .. }) => {
                self.doubt = false;
                if let Some(own) = &mut self.own {
                    own.note_wrote(&self.settings);
                }
                Ok(())
            }
            Ok(AppendOutcome::Unknown(doubt)) => {
                self.doubt = true;
                Err(Unsaved::Unknown(doubted(&doubt)))
            }
            Err(refusal) => Err(Unsaved::Refused(refused(&refusal))),
        }
    }

    /// Appends lines in one write; they are on stable storage when this returns. The book is not read anew.
    pub(super) fn append(&mut self, lines: &[Vec<u8>]) -> Result<(), Unsaved> {
        let target = self.target()?;
        let outcome = self.journal.append_lines(&target, lines, self.prior());
        self.settle(outcome)
    }
}

/// How many a look on that day saw if it saw all there were.
fn all_seen(batch: &Batch, look: &Look, at: At) -> u32 {
    batch.remain_on(at.day()).saturating_sub(look.lost_in_all())
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
        "{code} was {done} on {begun}, later than the day of this entry, {day}."
    ))
    .hint(format!(
        "Give a later day; or if it was {done} earlier: struck add \"amend {key}: dated {day}\", then enter this once more."
    ))
    .hint("Nothing was saved.")
}

/// Refuses a count of none: nothing was done then.
fn none_counted(kind: &Kind) -> Result<(), Failure> {
    let (count, done) = match kind {
        Kind::Pot(it) => (it.count, "potted"),
        Kind::Ready(it) => (it.count, "saleable"),
        Kind::Sold(it) => (it.count, "sold"),
        Kind::Discard(it) => (it.count, "discarded"),
        Kind::Move(it) => (it.count.unwrap_or(1), "moved"),
        _ => return Ok(()),
    };
    if count > 0 {
        return Ok(());
    }
    Err(
        Failure::usage(format!("0 {done} is not an entry: a count is at least 1."))
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
                .hint("It may not be saved: save it once more. Nothing is entered twice.");
        }
        other => Failure::could(format!("{other}.")),
    };
    failure.hint(doubt.remedy())
}
