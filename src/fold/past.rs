//! What a batch was at the end of an earlier day. It adds nothing to its story: the same life, cut short.

use super::batch::{Batch, BatchCounts, Event};
use super::book::Book;
use super::life::{Birth, live};
use super::settle::Standing;
use crate::model::entry::{Kind, Move};
use chrono::{Days, NaiveDate};
use std::sync::Arc;

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
    pub fn counts_on(&self, day: NaiveDate) -> Option<BatchCounts> {
        if !self.events.is_empty() && self.last_day() <= day {
            return Some(self.counts);
        }
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
            event: first.standing(),
            stick: Arc::clone(&self.stick),
            taxon: Arc::clone(&self.taxon),
            stuck_on: self.stuck_on,
            part: self.parent.clone().zip(self.part),
            place: began.place,
            cover: began.cover,
            heat: began.heat,
        };
        let until = rest.iter().take_while(|event| goes_on(event));
        let entries: Vec<Standing> = until.map(Event::standing).collect();
        Some(live(birth, entries.iter()).batch)
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
        match first.entry.kind() {
            Kind::Stick(it) => Where {
                place: it.place.as_ref().map(ToString::to_string),
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
                    place: it.place.as_ref().map(ToString::to_string).or(place),
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

// Where a batch stood from day to day: its sticking, its moves, and for a part those of what it was split
// from. It knows nothing of the air there.

/// Days at one place, both ends included.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceStay {
    /// The place as written, spot and all; absent if nobody said where.
    pub place: Option<String>,
    /// First day: that of the sticking or the move.
    pub from: NaiveDate,
    /// Last day: that before the next move.
    pub to: NaiveDate,
}

/// The last day on which cuttings of a batch stood on the bench: that on which the last one left, else `today`.
#[must_use]
pub fn last_day(batch: &Batch, today: NaiveDate) -> NaiveDate {
    let emptied = batch.inspections.iter().find(|seen| seen.remain == 0);
    let closed = emptied.filter(|_| !batch.is_open()).map(|seen| seen.day);
    let last = closed.unwrap_or(if batch.is_open() {
        today
    } else {
        batch.last_day()
    });
    last.max(batch.stuck_on)
}

/// The stretches of a batch from its sticking up to and on a day, in order, without gaps.
#[must_use]
pub fn stays(book: &Book, batch: &Batch, until: NaiveDate) -> Vec<PlaceStay> {
    let mut turns: Vec<(NaiveDate, Option<String>)> = Vec::new();
    gather(book, batch, until, &mut turns);
    let mut out: Vec<PlaceStay> = Vec::new();
    for (day, place) in turns {
        let same = out.last().is_some_and(|last| last.place == place);
        if same {
            continue;
        }
        if let Some(last) = out.last_mut() {
            last.to = day - Days::new(1);
        }
        // Two moves on one day: only the second place was lived in.
        out.retain(|stretch| stretch.from <= stretch.to);
        out.push(PlaceStay {
            place,
            from: day,
            to: until,
        });
    }
    out
}

/// The days on which it came to a place, those of its forebears first.
fn gather(
    book: &Book,
    batch: &Batch,
    until: NaiveDate,
    out: &mut Vec<(NaiveDate, Option<String>)>,
) {
    let parent = batch.parent.as_ref().and_then(|key| book.batch(key));
    match (parent, batch.events.first()) {
        // A parent folds before its parts, so this comes to an end.
        (Some(parent), Some(birth)) if parent.stuck_on <= birth.entry.at.day() => {
            gather(book, parent, birth.entry.at.day(), out);
        }
        _ => out.push((
            batch.stuck_on,
            batch.stick.place.as_ref().map(ToString::to_string),
        )),
    }
    for event in &batch.events {
        let day = event.entry.at.day();
        let Some(it) = event.entry.get::<Move>() else {
            continue;
        };
        // A part that leaves takes the parent nowhere.
        let own = it.into.is_none() || event.entry.id == batch.key;
        if own && it.place.is_some() && day <= until {
            out.push((day, it.place.as_ref().map(ToString::to_string)));
        }
    }
}
