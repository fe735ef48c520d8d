//! The one narrow door between the screens and the world: the journal, the clock, the drafts.
//! The program puts the desk behind it, a test what it likes.

use super::effect::{Act, Paper, Recorded, Refusal};
use crate::app::memory::Memory;
use crate::model::fault::Origin;
use crate::model::id::Id;
use chrono::{DateTime, FixedOffset};

/// What the screens need of the world.
pub trait Door {
    /// The time now, with the place's offset.
    fn now(&self) -> DateTime<FixedOffset>;

    /// The journal as last read.
    fn paper(&self) -> Paper;

    /// Reads what others appended; the journal if anything changed.
    ///
    /// # Errors
    /// Why it cannot be read.
    fn refresh(&mut self) -> Result<Option<Paper>, Refusal>;

    /// The bytes of a line as they stand in the journal; nothing if they cannot be read.
    fn raw(&self, origin: Origin) -> Option<Vec<u8>>;

    /// Writes entries in one append. They are on disk when this returns them, and the paper holds them.
    /// The same act handed in again after a refusal is the same entries: nothing is entered twice.
    ///
    /// # Errors
    /// Why nothing was saved.
    fn record(&mut self, act: &Act, by: &str) -> Result<Recorded, Refusal>;

    /// Writes withdrawals of these entries.
    ///
    /// # Errors
    /// Why nothing was saved.
    fn withdraw(&mut self, ids: &[Id], said: &str, by: &str) -> Result<Recorded, Refusal>;

    /// What an earlier sitting left to this one.
    fn memory(&self) -> Memory;

    /// Keeps what the next sitting is to know.
    fn remember(&mut self, memory: &Memory);

    /// Keeps the unfinished entry; an empty text takes it away. Whether that is done.
    fn keep(&mut self, draft: &str) -> bool;

    /// The unfinished entry of an earlier sitting that was cut off, if there is one.
    fn offered(&mut self) -> Option<String>;

    /// Takes the offered entry away, once it was taken up or thrown out.
    fn drop_offered(&mut self);

    /// What saves a draft from another thread when the terminal is gone.
    fn saver(&self) -> Box<dyn Fn(&str) + Send>;
}
