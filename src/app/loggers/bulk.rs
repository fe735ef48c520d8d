//! Many entries at once: written in runs, each with one lock and one sync, and read back once at the end.
//! What is in an entry is not its affair.

use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::record::Unsaved;
use crate::journal::codec::encode;
use crate::model::entry::Entry;

/// Bytes after which a run is written: as many as one line may have.
const RUN: usize = 1 << 20;

/// Entries on their way to the disk. They must bear ids that follow from what they say, so that a run whose
/// outcome is unknown can be written again, in this sitting or another, and add nothing twice.
pub struct Bulk<'a> {
    desk: &'a mut Desk,
    lines: Vec<Vec<u8>>,
    bytes: usize,
    saved: u64,
}

impl<'a> Bulk<'a> {
    /// Nothing yet.
    pub fn new(desk: &'a mut Desk) -> Self {
        Self {
            desk,
            lines: Vec::new(),
            bytes: 0,
            saved: 0,
        }
    }

    /// Takes an entry, and writes the run if it is long enough.
    ///
    /// # Errors
    /// If it cannot be put into a line, or the run cannot be written.
    pub fn add(&mut self, entry: &Entry) -> Result<(), Unsaved> {
        let refused = |error| Unsaved::Refused(Failure::could(format!("{error}.")));
        let line = encode(entry).map_err(refused)?;
        if self.bytes + line.len() > RUN {
            self.write()?;
        }
        self.bytes += line.len() + 1;
        self.lines.push(line);
        Ok(())
    }

    /// Writes what was taken; it is on stable storage when this returns.
    ///
    /// # Errors
    /// Why it is not, or not known to be.
    pub fn write(&mut self) -> Result<(), Unsaved> {
        if self.lines.is_empty() {
            return Ok(());
        }
        match self.desk.append(&self.lines) {
            // Once more under the same ids, which doubles nothing.
            Err(Unsaved::Unknown(_)) => self.desk.append(&self.lines).map_err(unknown)?,
            other => other?,
        }
        self.saved += self.lines.len() as u64;
        self.lines.clear();
        self.bytes = 0;
        Ok(())
    }

    /// How many are on stable storage.
    #[must_use]
    pub fn saved(&self) -> u64 {
        self.saved
    }

    /// Writes the rest and reads all of it back.
    ///
    /// # Errors
    /// As [`Bulk::write`].
    pub fn end(mut self) -> Result<u64, Unsaved> {
        self.write()?;
        if self.saved > 0 {
            // Saved is saved: should reading it back fail now, the next refresh tells.
            self.desk.refresh();
        }
        Ok(self.saved)
    }
}

/// The first try may be on the disk, so a refusal of the second settles nothing.
fn unknown(unsaved: Unsaved) -> Unsaved {
    Unsaved::Unknown(unsaved.failure().clone())
}
