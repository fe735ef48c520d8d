//! What the screens ask of the world outside, and what comes back. Values only.

use super::question::Query;
use crate::app::memory::Memory;
use crate::app::mends::Mend;
pub use crate::app::record::NewEntry;
use crate::fold::Book;
use crate::input::bench_line::Vocabulary;
use crate::model::at::At;
use crate::model::fault::Origin;
use crate::model::id::Id;
use std::sync::Arc;

/// The first word of a draft that turned out to be saved; the id of its first entry and the draft itself follow it, set
/// off by tabs.
pub const SAVED_DRAFT: &str = "saved";

/// Entries to be written in one append, all or none.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// When; absent is now.
    pub at: Option<At>,
    /// The entries, in order.
    pub entries: Vec<NewEntry>,
    /// What they say, in words, for the line that confirms the save. Where it is empty, that line shows the entries as
    /// bench lines.
    pub summary: String,
}

/// Something to be done outside.
#[derive(Debug)]
pub enum Effect {
    /// Write these entries.
    Record(Act),
    /// Write withdrawals of these entries; and what is taken back, in words.
    Withdraw(Vec<Id>, String),
    /// Compute figures, off the input path.
    Ask(Query),
    /// Nobody looks at the screen of that number any more: what it asked is not worked out.
    Left(usize),
    /// Throw away the unfinished entry of an earlier sitting, once this draft that goes on from it is kept.
    DropOffered(Option<String>),
    /// Read a line of the journal as it stands in its file.
    Raw(Origin),
    /// Keep this for the next sitting.
    Remember(Memory),
    /// Stop until continued.
    Suspend,
    /// Draw everything anew.
    Redraw,
    /// End.
    Quit,
}

/// Entries that are on disk now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The ids written, in order.
    pub ids: Vec<Id>,
    /// The codes of the batches that they begin, in order.
    pub codes: Vec<String>,
    /// What they say, in words.
    pub summary: String,
    /// What is odd about them, in words: a line each.
    pub remarks: Vec<String>,
    /// Whether they take an earlier act back.
    pub undoes: bool,
}

/// Why nothing was saved.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Refusal {
    /// What is wrong, then the remedies: a line each.
    pub lines: Vec<String>,
    /// The amends that would make the sum fit, one key away.
    pub mends: Vec<Mend>,
}

impl Refusal {
    /// A refusal of one line.
    #[must_use]
    pub fn line(line: impl Into<String>) -> Self {
        Self {
            lines: vec![line.into()],
            mends: Vec::new(),
        }
    }
}

/// The journal as it stands, and its words.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// The book.
    pub book: Arc<Book>,
    /// The journal's own words, for the reading of typed lines.
    pub vocabulary: Arc<Vocabulary>,
    /// The names of its files, by their numbers.
    pub files: Arc<[String]>,
    /// That a part of it cannot be read now, in a sentence.
    pub unread: Option<String>,
}
