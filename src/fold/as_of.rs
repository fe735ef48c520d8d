//! What a batch was at the end of an earlier day. It adds nothing to its story: the same life, cut short.

use super::batch::{Batch, Counts, Event};
use super::life::{Birth, live};
use super::standing::Standing;
use super::whole::Book;
use crate::model::entry::Kind;
use chrono::NaiveDate;
use std::sync::Arc;

fn standing(event: &Event) -> Standing {
    Standing {
        entry: Arc::new(event.entry.clone()),
        origin: event.origin,
        amended: event.amended,
    }
}

/// What stood where when a batch began.
#[derive(Default)]
struct Where {
    place: Option<String>,
    cover: Option<crate::model::listed::Cover>,
    heat: Option<crate::model::composite::Heat>,
}

impl Batch {
    /// Its counts at the end of a day; nothing if it had not begun by then. Entries that a later line
    /// amended count as amended. Cuttings that left in a part are the parent's until the part begins.
    #[must_use]
    pub fn counts_on(&self, day: NaiveDate) -> Option<Counts> {
        let batch = self.cut(Where::default(), |event| event.entry.at.day() <= day)?;
        Some(batch.counts)
    }

    /// Its life as far as its first events go, from that beginning.
    fn cut(&self, began: Where, goes_on: impl Fn(&Event) -> bool) -> Option<Self> {
        let (first, rest) = self.events.split_first()?;
        if !goes_on(first) {
            return None;
        }
        let birth = Birth {
            event: standing(first),
            stick: self.stick.clone(),
            stuck_on: self.stuck_on,
            part: self.parent.clone().zip(self.part),
            place: began.place,
            cover: began.cover,
            heat: began.heat,
        };
        let until = rest.iter().take_while(|event| goes_on(event));
        let entries: Vec<Standing> = until.map(standing).collect();
        let mut batch = live(birth, &entries).batch;
        batch.taxon = self.taxon.clone();
        Some(batch)
    }
}

impl Book {
    /// The batches as they stood at the end of a day, in the order of `batches`; those begun later are
    /// not among them. Only entries of days up to it count, as later lines amended them.
    #[must_use]
    pub fn batches_on(&self, day: NaiveDate) -> Vec<Arc<Batch>> {
        let had_begun = |batch: &&Arc<Batch>| began_on(batch).is_some_and(|began| began <= day);
        let begun = self.batches().iter().filter(had_begun);
        begun
            .filter_map(|batch| match batch.last_day() <= day {
                true => Some(Arc::clone(batch)),
                false => {
                    let mut cut = batch.cut(self.began(batch), |e| e.entry.at.day() <= day)?;
                    cut.place = cut.place.map(|place| self.places().shown(&place));
                    Some(Arc::new(cut))
                }
            })
            .collect()
    }

    /// Where a batch stood when it began: a part without a place of its own, where its parent stood then.
    fn began(&self, batch: &Batch) -> Where {
        let Some(first) = batch.events.first() else {
            return Where::default();
        };
        match &first.entry.kind {
            Kind::Stick(it) => Where {
                place: it.place.clone(),
                cover: it.cover,
                heat: it.heat_c,
            },
            Kind::Move(it) => {
                let parent = batch.parent.as_ref().and_then(|key| self.batch(key));
                let before = parent.and_then(|parent| {
                    let until = |event: &Event| event.entry.id != first.entry.id;
                    parent.cut(self.began(parent), until)
                });
                let (place, cover, heat) = before.map_or((None, None, None), |parent| {
                    (parent.place, parent.cover, parent.heat)
                });
                Where {
                    place: it.place.clone().or(place),
                    cover: it.cover.or(cover),
                    heat: it.heat_c.or(heat),
                }
            }
            _ => Where::default(),
        }
    }
}

/// The day of the entry that began a batch.
fn began_on(batch: &Batch) -> Option<NaiveDate> {
    batch.events.first().map(|event| event.entry.at.day())
}
