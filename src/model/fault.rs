//! Everything that can be wrong with a journal, as types: what, where, in which field. The wording is elsewhere.

use super::id::Id;
use super::listed::Cause;
use super::packed::PackedEntry;
use super::value::{EntryFault, UnknownWord};
use chrono::NaiveDate;

/// Where a line stands: the file's number in the journal's list of files, and its line from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Origin {
    /// Index into the journal's list of files.
    pub file: u32,
    /// Line number, from 1.
    pub line: u32,
}

/// Why a line says nothing that can be used.
#[derive(Clone, Debug, PartialEq)]
pub enum LineFault {
    /// Not JSON; what the reader met, and at which byte of the line (from 1).
    NotJson {
        /// What the reader met.
        detail: String,
        /// The byte, from 1.
        byte: u32,
    },
    /// JSON, but not an object.
    NotObject,
    /// Bytes that are not UTF-8, from this one (from 1).
    NotUtf8 {
        /// The byte, from 1.
        byte: u32,
    },
    /// Zero bytes where text should be: a block of the disk was lost.
    ZeroBytes,
    /// A mark that a merge left behind (`<<<<<<<`, `=======`, `>>>>>>>`).
    MergeMark,
    /// Longer than is read.
    TooLong {
        /// Its length in bytes.
        bytes: u64,
    },
    /// A key that stands twice, with both values as written.
    DuplicateKey {
        /// The key.
        key: String,
        /// Its values.
        values: [String; 2],
    },
    /// A `crc` that is not the last field, or not eight lower-case hex digits.
    CrcOutOfPlace,
    /// The fields make no entry.
    Entry(EntryFault),
}

/// What a line's checksum says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Crc {
    /// There is none: written by hand, and valid.
    Absent,
    /// It fits.
    Right,
    /// It does not: changed since written.
    Wrong,
}

/// Why a file is not read, or not to its end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FileFault {
    /// Not a regular file: `a folder`, `a pipe`, `a device`, `a link that leads nowhere`.
    NotAFile {
        /// What it is.
        what: &'static str,
    },
    /// The system would not read it; in its words.
    Unreadable {
        /// The system's words.
        reason: String,
    },
}

/// Something that cannot be, found while the entries were put together.
#[derive(Clone, Debug, PartialEq)]
pub enum BookFault {
    /// The line reads, but its checksum does not fit.
    WrongCrc,
    /// It names a batch that no stick began.
    UnknownBatch {
        /// The code it names.
        code: String,
    },
    /// It names a code that two open batches bore that day.
    AmbiguousBatch {
        /// The code it names.
        code: String,
    },
    /// It is dated before the batch was stuck.
    BeforeStick {
        /// The day of sticking.
        stuck_on: NaiveDate,
    },
    /// More leave than remain; the excess is in no figure.
    MoreThanRemain {
        /// The field with the excess: `lost.blackened`, `count`, `callused` …
        field: String,
        /// What the entry says.
        said: u32,
        /// What there was.
        remain: u32,
    },
    /// One id, several contents; this one does not stand.
    SameIdDiffers {
        /// The id.
        id: Id,
    },
    /// An amend whose result is no entry.
    AmendVoid {
        /// What it would amend.
        of: Id,
        /// What is wrong with the result.
        why: EntryFault,
    },
    /// Amends or withdraws that name each other in a ring.
    Ring {
        /// The next of the ring.
        of: Id,
    },
    /// Notice: amends or withdraws what is not in the journal (yet).
    MissingTarget {
        /// The id named.
        of: Id,
    },
    /// Notice: a second batch bears this code.
    CodeTwice {
        /// The code.
        code: String,
    },
    /// Notice: fewer at or past a milestone than were seen before, losses allowed for.
    Backwards {
        /// The milestone: callus, root or bottom.
        milestone: &'static str,
        /// How many there should be at least.
        expected: u32,
        /// How many were seen.
        seen: u32,
    },
    /// Notice: discarded from the bench without a reason, so counted as not yet.
    DiscardUnexplained,
    /// Notice: a word that is not known in a field that only describes; the field counts as not recorded.
    UnknownWord(UnknownWord),
    /// Notice: a day far in the future.
    DayAhead {
        /// The day written.
        day: NaiveDate,
    },
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum FaultKind {
    /// With a file.
    File(FileFault),
    /// With a line.
    Line(LineFault),
    /// With what the entries say together.
    Book(BookFault),
}

/// How grave it is: a fault makes `check` fail, a notice only if asked to be strict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// A line left out, a wrong checksum, an impossible sum.
    Fault,
    /// Worth knowing.
    Notice,
}

/// One thing wrong, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The line, if it is one's; for a file's fault line 0.
    pub origin: Origin,
    /// The entry's id, or the line's name for a line that makes no entry.
    pub id: Option<Id>,
    /// The code of the batch it touches.
    pub batch: Option<String>,
    /// What is wrong.
    pub wrong: FaultKind,
}

impl Fault {
    /// How grave it is.
    #[must_use]
    pub fn level(&self) -> Severity {
        match &self.wrong {
            FaultKind::File(_) => Severity::Fault,
            FaultKind::Line(fault) => fault.level(),
            FaultKind::Book(fault) => fault.level(),
        }
    }
}

impl LineFault {
    /// How grave it is: what only a newer program understands is no fault.
    fn level(&self) -> Severity {
        match self {
            Self::Entry(EntryFault::UnknownKind { .. } | EntryFault::NewerVersion { .. }) => {
                Severity::Notice
            }
            Self::Entry(EntryFault::Missing { .. } | EntryFault::Bad { .. })
            | Self::NotJson { .. }
            | Self::NotObject
            | Self::NotUtf8 { .. }
            | Self::ZeroBytes
            | Self::MergeMark
            | Self::TooLong { .. }
            | Self::DuplicateKey { .. }
            | Self::CrcOutOfPlace => Severity::Fault,
        }
    }
}

impl BookFault {
    /// How grave it is.
    fn level(&self) -> Severity {
        match self {
            Self::WrongCrc
            | Self::UnknownBatch { .. }
            | Self::AmbiguousBatch { .. }
            | Self::BeforeStick { .. }
            | Self::MoreThanRemain { .. }
            | Self::SameIdDiffers { .. }
            | Self::AmendVoid { .. }
            | Self::Ring { .. } => Severity::Fault,
            Self::MissingTarget { .. }
            | Self::CodeTwice { .. }
            | Self::Backwards { .. }
            | Self::DiscardUnexplained
            | Self::UnknownWord(_)
            | Self::DayAhead { .. } => Severity::Notice,
        }
    }
}

/// The field of an impossible sum for a cause of loss.
#[must_use]
pub fn lost_field(cause: Cause) -> String {
    format!("lost.{}", cause.word())
}

// A line on its way from a file into the book.

/// One line as read: the entry that it makes, or why it makes none.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrival {
    /// Where it stands.
    pub origin: Origin,
    /// What its checksum says.
    pub crc: Crc,
    /// The entry, or the fault and the name of the line (so that a withdraw can settle it).
    pub entry: Result<PackedEntry, (LineFault, Id)>,
    /// Words that were passed over: those not known, in fields that only describe.
    pub unknown_words: Vec<UnknownWord>,
}

/// Gives the bytes of a line again, without its newline. The book keeps no text: on the rare
/// occasion that it needs some (two contents under one id, a line's name), it asks.
pub trait Lines {
    /// The bytes, or nothing if the file no longer gives them.
    fn raw(&self, origin: Origin) -> Option<Vec<u8>>;
    /// Which line bears this name (`line:` and its hash), if any does.
    fn named(&self, name: &Id) -> Option<Origin>;
}
