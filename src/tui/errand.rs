//! Carries one effect through the door and says what came of it. The program and the tests use the same.

use super::door::Door;
use super::effect::{Effect, Recorded, Refusal};
use super::message::Message;

/// Runs an effect that needs the door; gives what happened, in order.
pub fn errand(door: &mut dyn Door, by: &str, effect: Effect) -> Vec<Message> {
    let outcome = match effect {
        Effect::Record(act) => door.record(&act, by),
        Effect::Withdraw(ids, said) => door.withdraw(&ids, &said, by),
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
    told(door, outcome)
}

fn told(door: &dyn Door, outcome: Result<Recorded, Refusal>) -> Vec<Message> {
    match outcome {
        Ok(recorded) => vec![Message::Paper(door.paper()), Message::Recorded(recorded)],
        Err(refusal) => vec![Message::Refused(refusal)],
    }
}
