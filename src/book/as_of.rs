//! What a batch was at the end of an earlier day. It adds nothing to its story: the same life, cut short.

use super::batch::{Batch, Counts, Event};
use super::life::{Birth, live};
use super::standing::Standing;
use chrono::NaiveDate;
use std::sync::Arc;

impl Batch {
    /// Its counts at the end of a day; nothing if it had not begun by then. Entries that a later line
    /// amended count as amended. Cuttings that left in a part are the parent's until the part begins.
    #[must_use]
    pub fn counts_on(&self, day: NaiveDate) -> Option<Counts> {
        let (first, rest) = self.events.split_first()?;
        if first.entry.at.day() > day {
            return None;
        }
        let standing = |event: &Event| Standing {
            entry: Arc::new(event.entry.clone()),
            origin: event.origin,
            amended: event.amended,
        };
        let birth = Birth {
            event: standing(first),
            stick: self.stick.clone(),
            stuck_on: self.stuck_on,
            part: self.parent.clone().zip(self.part),
            place: None,
            cover: None,
            heat: None,
        };
        let until = rest.iter().take_while(|event| event.entry.at.day() <= day);
        let entries: Vec<Standing> = until.map(standing).collect();
        Some(live(birth, &entries).batch.counts)
    }
}
