//! What the batches at a place lost, by the day on which it was found, and how many cuttings were there to be
//! lost. A loss came at some day since the look before; it does not say which.

use super::lived::within;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::past::{PlaceStay, last_day, stays};
use crate::model::composite::Lost;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// A day on which losses were found, or a batch was looked at without any.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LossDay {
    /// Lost by cause.
    pub lost: Lost,
    /// Cuttings that the looks of that day were about, before the losses.
    pub among: u32,
    /// Batches looked at.
    pub batches: u32,
}

/// What was found at a place on each day that anybody looked, from a day on and up to another.
#[must_use]
pub fn losses_at(
    book: &Book,
    place: &str,
    since: NaiveDate,
    until: NaiveDate,
) -> BTreeMap<NaiveDate, LossDay> {
    let key = book.places().key(place);
    let mut out = BTreeMap::new();
    for batch in book.batches() {
        if batch.stuck_on > until || last_day(batch, until) < since {
            continue;
        }
        let stays = stays(book, batch, last_day(batch, until).min(until));
        let here = stays.iter().filter(|stay| {
            let at = stay.place.as_deref();
            at.is_some_and(|at| book.places().key(at) == key)
        });
        for stay in here {
            let span = PlaceStay {
                from: stay.from.max(since),
                to: stay.to.min(until),
                ..stay.clone()
            };
            take(batch, &span, &mut out);
        }
    }
    out
}

fn take(batch: &Batch, span: &PlaceStay, out: &mut BTreeMap<NaiveDate, LossDay>) {
    for seen in within(&batch.inspections, span, |seen| seen.day) {
        let lost = seen.lost.total();
        let day: &mut LossDay = out.entry(seen.day).or_default();
        for (cause, n) in seen.lost.each() {
            day.lost.add(cause, n);
        }
        let gone = seen.discarded.iter().fold(0, |sum, (_, n)| sum + n);
        day.among += seen.remain + lost + seen.potted + gone;
        day.batches += 1;
    }
}
