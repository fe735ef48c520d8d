//! The bench line: reads a typed line into the fields of an entry, says back what it understood, and writes an
//! entry as such a line. It touches no journal: what the journal holds, and the moment, are arguments.
//!
//! A line is a verb, then phrases set off by commas, in any order. A comma parts only before a space or the end,
//! so that `24,5` is a number; quotes hold a text together. Each phrase is known by its first word (`in`, `at`,
//! `from` …), by being a listed word (`semi-ripe`), by being a text that the journal holds (`bench A`), or by its
//! shape (`84 cell tray`, `iba 3000`). `field=value` always works.

mod draft;
mod head;
mod hormone;
mod lists;
mod naming;
mod phrase;
mod phrases;
mod raw;
mod read;
mod reading;
mod shapes;
mod split;
mod units;
mod verbs;
mod vocabulary;
mod write;

pub use phrases::phrases_help;
pub use read::read;
pub use reading::{LineProblem, LineReading, label};
pub use vocabulary::{NAMED_FIELDS, Now, Vocabulary, VocabularyBatch};
pub use write::{line_of, line_without_when};
