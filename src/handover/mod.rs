//! What is handed out: data packages, sheets, labels, calendars. It is pure and returns bytes, and is the only room that
//! knows how outside formats are written; it opens no file and knows no clock.

pub mod calendar;
pub mod package;
pub mod print;
pub mod published;

/// A file that is handed out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HandoverFile {
    /// Its name in the folder.
    pub name: String,
    /// What stands in it.
    pub bytes: Vec<u8>,
}
