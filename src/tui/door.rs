//! The one narrow door between the screens and the world: the journal, the clock, the drafts; and carrying an effect
//! through it. The program puts the open journal behind it, a test what it likes.

use super::effect::{Act, Effect, Recorded, Refusal, Snapshot};
use super::update::Message;
use crate::app::memory::Memory;
use crate::model::fault::Origin;
use crate::model::id::Id;
use chrono::{DateTime, FixedOffset};

/// What the screens need of the world.
pub trait Door {
    /// The time now, with the place's offset.
    fn now(&self) -> DateTime<FixedOffset>;

    /// The journal as last read.
    fn snapshot(&self) -> Snapshot;

    /// Reads what others appended; the journal if anything changed.
    ///
    /// # Errors
    /// Why it cannot be read.
    fn refresh(&mut self) -> Result<Option<Snapshot>, Refusal>;

    /// The bytes of a line as they stand in the journal; nothing if they cannot be read.
    fn raw(&self, origin: Origin) -> Option<Vec<u8>>;

    /// Writes entries in one append. They are on disk when this returns them, and the snapshot holds them.
    /// The same act handed in again after a refusal is the same entries: nothing is entered twice.
    ///
    /// # Errors
    /// Why nothing was saved.
    fn record(&mut self, act: &Act, by: &str) -> Result<Recorded, Refusal>;

    /// Writes withdrawals of these entries.
    ///
    /// # Errors
    /// Why nothing was saved.
    fn withdraw(&mut self, ids: &[Id], summary: &str, by: &str) -> Result<Recorded, Refusal>;

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

/// Runs an effect that needs the door; gives what happened, in order.
pub fn run_effect(door: &mut dyn Door, by: &str, effect: Effect) -> Vec<Message> {
    let outcome = match effect {
        Effect::Record(act) => door.record(&act, by),
        Effect::Withdraw(ids, summary) => door.withdraw(&ids, &summary, by),
        Effect::DropOffered(instead) => {
            // What goes on from it is kept first, so that no moment is without either.
            if instead.is_none_or(|draft| door.keep(&draft)) {
                door.drop_offered();
                return door.offered().map(Message::Offered).into_iter().collect();
            }
            return Vec::new();
        }
        Effect::Raw(origin) => return vec![Message::Raw(origin, door.raw(origin))],
        Effect::Remember(memory) => {
            door.remember(&memory);
            return Vec::new();
        }
        // The loop's own affairs.
        Effect::Ask(_) | Effect::Left(_) | Effect::Suspend | Effect::Redraw | Effect::Quit => {
            return Vec::new();
        }
    };
    outcome_messages(door, outcome)
}

fn outcome_messages(door: &dyn Door, outcome: Result<Recorded, Refusal>) -> Vec<Message> {
    match outcome {
        Ok(recorded) => vec![
            Message::Snapshot(door.snapshot()),
            Message::Recorded(recorded),
        ],
        Err(refusal) => vec![Message::Refused(refusal)],
    }
}
