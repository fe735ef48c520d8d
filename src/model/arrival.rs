//! A line on its way from a file into the book.

use super::entry::Entry;
use super::fault::{Crc, LineFault, Origin};
use super::id::Id;

/// One line as read: the entry that it makes, or why it makes none.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrival {
    /// Where it stands.
    pub origin: Origin,
    /// What its checksum says.
    pub crc: Crc,
    /// The entry, or the fault and the name of the line (so that a withdraw can settle it).
    pub entry: Result<Entry, (LineFault, Id)>,
}

/// Gives the bytes of a line again, without its newline. The book keeps no text: on the rare
/// occasion that it needs some (two contents under one id, a line's name), it asks.
pub trait Lines {
    /// The bytes, or nothing if the file no longer gives them.
    fn raw(&self, origin: Origin) -> Option<Vec<u8>>;
    /// Which line bears this name (`line:` and its hash), if any does.
    fn named(&self, name: &Id) -> Option<Origin>;
}
