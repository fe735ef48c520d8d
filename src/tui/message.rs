//! What can happen to the screens. Values only; nothing is done here.

use super::effect::{Recorded, Refusal, Snapshot};
use super::press::Press;
use super::question::Answer;
use crate::model::fault::Origin;
use chrono::{DateTime, FixedOffset};

/// Something that happened.
#[derive(Debug)]
pub enum Message {
    /// Keys, those of one moment together.
    Presses(Vec<Press>),
    /// A paste, as the terminal marks it.
    Paste(String),
    /// The screen's new size: columns, rows.
    Size(u16, u16),
    /// The time now.
    Now(DateTime<FixedOffset>),
    /// The journal as it stands now: somebody wrote.
    Snapshot(Snapshot),
    /// What was to be recorded or taken back is on disk.
    Recorded(Recorded),
    /// It is not.
    Refused(Refusal),
    /// Figures that were asked for.
    Answer(Answer),
    /// A line of the journal as it stands in its file, if it can be read.
    Raw(Origin, Option<Vec<u8>>),
    /// An entry that an earlier sitting left unfinished.
    Offered(String),
    /// The journal cannot be followed at the moment; why.
    Trouble(String),
}
