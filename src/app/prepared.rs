//! Entries on their way into the journal: as they were asked for, and completed. It writes nothing.

use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;

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
