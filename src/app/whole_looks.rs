//! Looks at all cuttings that remained. How many such a look saw hangs on what was taken off before it: where that is put
//! right, the look follows.

use super::prepared::NewEntry;
use crate::fold::batch::{Batch, Event};
use crate::model::entry::{Amend, Kind, Look};
use crate::model::id::Id;
use crate::model::value::FieldType;

/// How many cuttings an entry that says this takes off the bench of a batch.
#[must_use]
pub fn taken_off(kind: &Kind, batch: &Batch) -> u32 {
    let per_plant = batch.stick.per_plant.unwrap_or(1).max(1);
    kind.takes().from_bench(per_plant)
}

/// How many a look saw, if it saw all that remained; nothing for any other look or entry.
#[must_use]
pub fn whole(event: &Event, batch: &Batch) -> Option<u32> {
    let look = event.entry.get::<Look>()?;
    let mut inspections = batch.inspections.iter();
    let day = event.entry.at.day();
    let inspection = inspections.find(|one| one.day == day && one.tally.is_some())?;
    look.seen.filter(|seen| *seen == inspection.remain_at_tally)
}

/// The amends of the looks at all that remained after an entry, which saw so many more now that fewer were taken off
/// by it.
#[must_use]
pub fn follow(batch: &Batch, after: &Id, more: u32) -> Vec<NewEntry> {
    let later = batch.events.iter().skip_while(|it| it.entry.id != *after);
    let looks = later
        .skip(1)
        .filter_map(|event| Some((event, whole(event, batch)?)));
    let amend = |(event, seen): (&Event, u32)| NewEntry {
        kind: Kind::Amend(Box::new(Amend {
            target: event.entry.id.clone(),
            set: vec![("seen".to_owned(), seen.saturating_add(more).write())],
        })),
        note: None,
    };
    looks.filter(|_| more > 0).map(amend).collect()
}
