//! Whether a batch is failing: losses that spread from look to look, a heavy loss, mould in two batches of
//! one place. It plans no day.

use super::rules::{FASTER, FEWEST_DEAD, HEAVY, MANY_DEAD, OF_LATE, SPREADS};
use super::{DueReason, LossCount};
use crate::fold::Book;
use crate::fold::batch::{Batch, Inspection};
use crate::model::composite::Lost;
use crate::model::listed::{Cause, DiscardReason};
use chrono::NaiveDate;
use std::collections::HashMap;
use std::sync::Arc;

/// Causes that go from one cutting to the next.
const SPREADING: [Cause; 2] = [Cause::Blackened, Cause::Mould];

/// What one day of looking found dead.
struct Toll {
    day: NaiveDate,
    /// ExpectedDay cause, discards for a cause of loss among them.
    lost: Lost,
    /// How many stood there before.
    of: u32,
    /// Days since the look before, or since sticking; at least 1.
    over: u32,
    /// Whether any were potted that day: the batch is being finished, not failing.
    potted: bool,
}

impl Toll {
    fn found(&self) -> LossCount {
        LossCount {
            day: self.day,
            lost: self.lost.total(),
            of: self.of,
            over: self.over,
        }
    }

    fn of_cause(&self, cause: Cause) -> LossCount {
        LossCount {
            lost: self.lost.of(cause),
            ..self.found()
        }
    }

    /// Of those that stood there, the share that a cause took each day.
    fn pace(&self, cause: Cause) -> f64 {
        let lost = f64::from(self.lost.of(cause));
        lost / f64::from(self.of.max(1)) / f64::from(self.over)
    }

    /// The cause that took most; the first listed of several.
    fn cause(&self) -> Cause {
        let worst = |worst: Cause, cause: &Cause| match self.lost.of(*cause) > self.lost.of(worst) {
            true => *cause,
            false => worst,
        };
        Cause::ALL.iter().fold(Cause::Blackened, worst)
    }
}

/// The days of looking, or of clearing away, in order.
fn tolls(batch: &Batch) -> Vec<Toll> {
    let mut out: Vec<Toll> = Vec::new();
    let mut before = 0;
    for inspection in &batch.inspections {
        let lost = lost(inspection);
        if inspection.how.is_none() && lost.total() == 0 {
            continue;
        }
        let thrown: u32 = inspection.discarded.iter().map(|(_, n)| n).sum();
        let of = inspection.remain + inspection.potted + thrown + inspection.lost.total();
        out.push(Toll {
            day: inspection.day,
            lost,
            of,
            over: inspection.age.saturating_sub(before).max(1),
            potted: inspection.potted > 0,
        });
        before = inspection.age;
    }
    out
}

/// What died: found dead, or thrown out for a cause of loss.
fn lost(inspection: &Inspection) -> Lost {
    let mut lost = inspection.lost;
    for (why, n) in &inspection.discarded {
        if let Some(cause) = why.and_then(DiscardReason::cause) {
            lost.add(cause, *n);
        }
    }
    lost
}

/// Why a batch is failing by itself, if it is.
pub(super) fn alone(batch: &Batch) -> Option<DueReason> {
    let tolls = tolls(batch);
    let last = tolls.last()?;
    if last.potted {
        return None;
    }
    if let [.., before, _] = tolls.as_slice() {
        let mut causes = SPREADING.into_iter();
        if let Some(cause) = causes.find(|cause| is_spreading(before, last, *cause)) {
            return Some(DueReason::Spreading {
                cause,
                before: before.of_cause(cause),
                now: last.of_cause(cause),
            });
        }
    }
    let found = last.found();
    let is_heavy = f64::from(found.lost) > HEAVY * f64::from(found.of);
    (found.lost >= FEWEST_DEAD && is_heavy).then(|| DueReason::Heavy {
        cause: last.cause(),
        found,
    })
}

/// Whether a cause takes more from look to look: faster a day, and more dead than before or many
/// at much the faster pace.
fn is_spreading(before: &Toll, last: &Toll, cause: Cause) -> bool {
    let (was, now) = (before.of_cause(cause), last.of_cause(cause));
    let (slow, fast) = (before.pace(cause), last.pace(cause));
    let many = now.lost >= MANY_DEAD && fast >= FASTER * slow;
    let enough =
        now.lost >= FEWEST_DEAD && f64::from(now.lost) >= SPREADS * f64::from(now.of.max(1));
    was.lost > 0 && fast > slow && enough && (now.lost > was.lost || many)
}

/// The places where two batches or more showed mould at their last look, of late, with how many did.
pub(super) fn mouldy(
    book: &Book,
    open: &[Arc<Batch>],
    on: NaiveDate,
) -> HashMap<String, (usize, NaiveDate)> {
    let mut places: HashMap<String, (usize, NaiveDate)> = HashMap::new();
    for batch in open {
        if let (Some(place), Some(day)) = (&batch.place, mould(batch, on)) {
            let seen = places.entry(book.places().key(place)).or_insert((0, day));
            *seen = (seen.0 + 1, seen.1.max(day));
        }
    }
    places.retain(|_, (batches, _)| *batches > 1);
    places
}

/// The day of a batch's last look, if that was of late and found mould.
pub(super) fn mould(batch: &Batch, on: NaiveDate) -> Option<NaiveDate> {
    let tolls = tolls(batch);
    let last = tolls.last()?;
    let is_late = (on - last.day).num_days() <= OF_LATE;
    (is_late && last.lost.of(Cause::Mould) > 0).then_some(last.day)
}
