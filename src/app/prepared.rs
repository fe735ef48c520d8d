//! Entries on their way into the journal: as they were asked for, and completed. It writes nothing.

use crate::journal::codec::{Unwritable, decode, encode};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::model::value::{EntryFault, Value};

/// An entry to be recorded, before it has an id, a time and its batch's identity.
#[derive(Clone, Debug, PartialEq)]
pub struct NewEntry {
    /// What it says. A stick or a part with an empty code is given the next one.
    pub kind: Kind,
    /// A note in free text.
    pub note: Option<String>,
}

/// Entries that are written in one append, all or none, before they are completed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Transaction {
    /// When; absent is now.
    pub at: Option<At>,
    /// Who.
    pub by: Option<String>,
    /// What, in order.
    pub entries: Vec<NewEntry>,
}

/// A transaction with everything that its lines need. The ids are fixed, so saving it twice adds nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct PreparedTransaction {
    pub(super) entries: Vec<Entry>,
    /// The looks whose `seen` was left out and filled in with all that remained.
    pub(super) examined_all: Vec<Id>,
    /// The entries that begin a batch whose code was allotted: it is settled once the journal's lock is held.
    pub(super) allotted: Vec<Id>,
}

impl PreparedTransaction {
    /// The entries, in order.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Whether an entry is a look whose `seen` was left out and filled in with all that remained.
    #[must_use]
    pub fn examines_all(&self, entry: &Entry) -> bool {
        self.examined_all.contains(&entry.id)
    }
}

impl PreparedTransaction {
    /// The code of the batch that an entry of this id begins.
    pub(super) fn begun_by(&self, id: &Id) -> Option<&str> {
        let entry = self.entries.iter().find(|entry| entry.id == *id)?;
        entry.kind.code_begun()
    }

    /// Gives the batch that an entry begins another code, in the entries about it as well.
    pub(super) fn recode(&mut self, begins: &Id, code: &str) -> Result<(), EntryFault> {
        for entry in &mut self.entries {
            if entry.id == *begins {
                if let Some(held) = entry.kind.code_begun_mut() {
                    *held = code.into();
                }
            } else if entry
                .kind
                .batch_named()
                .is_some_and(|it| it.stick == Some(begins))
            {
                let set = [("batch".to_owned(), Value::Text(code.to_owned()))];
                *entry = entry.amended(&set)?;
            }
        }
        Ok(())
    }
}

impl PreparedTransaction {
    /// The entries as lines of the journal.
    ///
    /// # Errors
    /// If a number in one is not finite.
    pub fn lines(&self) -> Result<Vec<String>, Unwritable> {
        let lines = self.entries.iter().map(encode);
        let text = |line: Result<Vec<u8>, Unwritable>| {
            line.map(|line| String::from_utf8_lossy(&line).into_owned())
        };
        lines.map(text).collect()
    }

    /// Whether the entries are of the same kinds about the same batches, one for one.
    pub(super) fn is_of_shape(&self, other: &Self) -> bool {
        let about = |entry: &Entry| {
            let batch = entry.kind.batch_named();
            (
                entry.kind.word(),
                batch.and_then(|batch| batch.stick.cloned()),
            )
        };
        self.entries.len() == other.entries.len()
            && self
                .entries
                .iter()
                .zip(&other.entries)
                .all(|(a, b)| about(a) == about(b))
    }
}

impl PreparedTransaction {
    /// Whether an entry of each is about the same batch.
    pub(super) fn shares_batch_with(&self, other: &Self) -> bool {
        let batches = |of: &Self| -> Vec<Id> {
            let named = of
                .entries
                .iter()
                .filter_map(|entry| entry.kind.batch_named());
            named.filter_map(|batch| batch.stick.cloned()).collect()
        };
        let theirs = batches(other);
        batches(self).iter().any(|batch| theirs.contains(batch))
    }
}

/// Fields of an entry that no amend sets.
const FIXED: [&str; 9] = [
    "id", "v", "kind", "of", "target", "crc", "batch", "stick", "into",
];

impl Entry {
    /// What an amend of this entry has to set so that it says what another does. The time only if it was `dated`.
    pub(super) fn changes_to(&self, other: &Self, dated: bool) -> Vec<(String, Value)> {
        let (old, new) = (self.to_fields(), other.to_fields());
        let may_be_set = |name: &str| !FIXED.contains(&name) && (dated || name != "at");
        let set = new.iter().filter(|field| !old.contains(field));
        let set = set.map(|(name, value)| ((*name).to_owned(), value.clone()));
        let gone = old
            .iter()
            .filter(|(name, _)| !new.iter().any(|(it, _)| it == name));
        let gone = gone.map(|(name, _)| ((*name).to_owned(), Value::Null));
        set.chain(gone)
            .filter(|(name, _)| may_be_set(name))
            .collect()
    }
}

/// The ids of lines of the journal.
#[must_use]
pub fn ids_in(lines: &[String]) -> Vec<Id> {
    let decoded = lines
        .iter()
        .filter_map(|line| decode(line.as_bytes(), false));
    decoded
        .filter_map(|line| line.entry.ok())
        .map(|entry| entry.id)
        .collect()
}
