//! Whether batches are failing: losses that spread from look to look, a heavy loss, mould in several batches of one
//! place, each more than is ordinary. It plans no day.

use crate::fold::Book;
use crate::fold::batch::{Batch, Inspection};
use crate::model::composite::Lost;
use crate::model::id::Id;
use crate::model::listed::{Cause, DiscardReason};
use crate::model::text::split_spot;
use crate::stats::counts::BetaBinomial;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::HashMap;
use std::sync::Arc;

/// A loss at one look above this share of what stood there is heavy (common practice: one in ten).
const HEAVY: f64 = 0.1;
/// Fewer dead than this are no pattern (our own rule).
const FEWEST_DEAD: u32 = 2;
/// The least share of what stood there that a spreading cause must have taken at the last look (common
/// practice: one in twenty; a dead cutting here and there is no spread).
const SPREADS: f64 = 0.05;
/// No more dead than at the look before count as spreading only if they are so many (our own rule) …
const MANY_DEAD: u32 = 3;
/// … and died at so many times the pace a day (our own rule).
const FASTER: f64 = 1.5;
/// Days for which mould counts as of late (common practice: a fortnight).
const OF_LATE: i64 = 14;
/// Losses that come by with at least this chance at one look are ordinary (our own rule: a batch is looked at half a dozen
/// times, and at most one in twenty is to be called failing for nothing).
const RARE: f64 = 0.015;
/// The same for what a spreading cause took at two looks together, beside the usual loss by that cause: it must also have
/// grown between them (our own rule, tried on simulated journals).
const RARE_SPREAD: f64 = 0.15;
/// No loss is taken to go on faster than this each day.
const FASTEST: f64 = 0.1;
/// Causes that go from one cutting to the next.
const SPREADING: [Cause; 2] = [Cause::Blackened, Cause::Mould];

/// What a look found dead.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct LossCount {
    /// The day.
    #[serde(rename = "on")]
    pub day: NaiveDate,
    /// How many cuttings were lost.
    pub lost: u32,
    /// Of how many that stood there before.
    pub of: u32,
    /// Days since the look before, or since sticking; at least 1.
    #[serde(rename = "over_days")]
    pub over: u32,
}

/// Why a batch is failing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "rule", content = "figures")]
pub enum FailingSign {
    /// Losses that spread from look to look.
    #[serde(rename = "spreading")]
    Spreading {
        /// Their cause, blackened or mould.
        cause: Cause,
        /// What the look before found of it.
        before: LossCount,
        /// What the last look found of it.
        now: LossCount,
    },
    /// A heavy loss at the last look.
    #[serde(rename = "heavy-loss")]
    Heavy {
        /// The cause of most of it.
        cause: Cause,
        /// What was found.
        now: LossCount,
    },
    /// Mould in several batches of one place.
    #[serde(rename = "mould-in-place")]
    Mould {
        /// The place, as written, without a spot.
        place: String,
        /// In so many batches, this one among them.
        batches: usize,
        /// When it was last seen there.
        seen: NaiveDate,
        /// What the last look at this batch found of it.
        now: LossCount,
    },
}

impl FailingSign {
    /// What the last look at the batch found.
    #[must_use]
    pub fn last(&self) -> &LossCount {
        match self {
            Self::Spreading { now, .. } | Self::Heavy { now, .. } | Self::Mould { now, .. } => now,
        }
    }

    /// The share of those standing that dies each day.
    #[must_use]
    pub fn pace(&self) -> f64 {
        let now = self.last();
        (share(now.lost, now.of) / f64::from(now.over)).min(FASTEST)
    }
}

/// The losses to be expected of a batch between two looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OrdinaryLoss {
    /// Of those that stand there, the share lost.
    pub share: f64,
    /// The correlation of cuttings of one batch.
    pub correlation: f64,
}

impl OrdinaryLoss {
    /// That part of it which one cause takes.
    fn part(self, part: f64) -> Self {
        Self {
            share: self.share * part,
            ..self
        }
    }

    /// Whether so many of so many dead are rarer than that chance.
    fn is_exceeded(self, lost: u32, of: u32, chance: f64) -> bool {
        let share = self.share.clamp(1e-4, 0.95);
        let Ok(model) = BetaBinomial::new(share, self.correlation.clamp(0.0, 0.9)) else {
            return true;
        };
        model.counts(of).at_least(lost as usize) <= chance
    }
}

/// What is ordinary for a batch from one day since sticking to another; nothing where the journal is too young to say.
pub type Ordinary<'a> = dyn Fn(&Batch, u32, u32) -> Option<OrdinaryLoss> + 'a;

fn share(n: u32, of: u32) -> f64 {
    f64::from(n) / f64::from(of.max(1))
}

/// What one day of looking found dead.
struct Toll {
    day: NaiveDate,
    /// By cause, discards for a cause of loss among them.
    lost: Lost,
    /// How many stood there before.
    of: u32,
    /// Days since sticking at the look before, and at this one.
    ages: [u32; 2],
    /// Whether any were potted that day: the batch is being finished, not failing.
    potted: bool,
}

impl Toll {
    fn counted(&self, lost: u32) -> LossCount {
        LossCount {
            day: self.day,
            lost,
            of: self.of,
            over: self.ages[1].saturating_sub(self.ages[0]).max(1),
        }
    }

    fn total(&self) -> LossCount {
        self.counted(self.lost.total())
    }

    fn by_cause(&self, cause: Cause) -> LossCount {
        self.counted(self.lost.count(cause))
    }

    /// Of those that stood there, the share that a cause took each day.
    fn pace(&self, cause: Cause) -> f64 {
        let count = self.by_cause(cause);
        share(count.lost, count.of) / f64::from(count.over)
    }

    /// The cause that took most; the first listed of several.
    fn cause(&self) -> Cause {
        let worst =
            |worst: Cause, cause: &Cause| match self.lost.count(*cause) > self.lost.count(worst) {
                true => *cause,
                false => worst,
            };
        Cause::ALL.iter().fold(Cause::Blackened, worst)
    }

    fn is_rare(&self, batch: &Batch, ordinary: &Ordinary<'_>) -> bool {
        let usual = ordinary(batch, self.ages[0], self.ages[1]);
        usual.is_none_or(|usual| usual.is_exceeded(self.lost.total(), self.of, RARE))
    }
}

/// The days of looking, or of clearing away, in order.
fn tolls(batch: &Batch) -> Vec<Toll> {
    let mut out: Vec<Toll> = Vec::new();
    let mut before = 0;
    for inspection in &batch.inspections {
        let lost = dead(inspection);
        if inspection.how.is_none() && lost.total() == 0 {
            continue;
        }
        let thrown: u32 = inspection.discarded.iter().map(|(_, n)| n).sum();
        let of = inspection.remain + inspection.potted + thrown + inspection.lost.total();
        out.push(Toll {
            day: inspection.day,
            lost,
            of,
            ages: [before, inspection.age],
            potted: inspection.potted > 0,
        });
        before = inspection.age;
    }
    out
}

/// What died: found dead, or thrown out for a cause of loss.
fn dead(inspection: &Inspection) -> Lost {
    let mut lost = inspection.lost;
    for (why, n) in &inspection.discarded {
        if let Some(cause) = why.and_then(DiscardReason::cause) {
            lost.add(cause, *n);
        }
    }
    lost
}

/// Why a batch is failing by itself, if it is.
fn alone(batch: &Batch, parts: &CauseParts, ordinary: &Ordinary<'_>) -> Option<FailingSign> {
    let tolls = tolls(batch);
    let last = tolls.last().filter(|last| !last.potted)?;
    if let [.., before, _] = tolls.as_slice() {
        let mut causes = SPREADING.into_iter();
        let spreads = |cause: &Cause| {
            let usual = ordinary(batch, before.ages[0], last.ages[1]);
            let usual = usual.map(|usual| usual.part(parts.part(*cause)));
            let both = before.by_cause(*cause).lost + last.by_cause(*cause).lost;
            is_spreading(before, last, *cause)
                && usual.is_none_or(|usual| usual.is_exceeded(both, before.of, RARE_SPREAD))
        };
        if let Some(cause) = causes.find(spreads) {
            return Some(FailingSign::Spreading {
                cause,
                before: before.by_cause(cause),
                now: last.by_cause(cause),
            });
        }
    }
    let now = last.total();
    let is_heavy = share(now.lost, now.of) > HEAVY && now.lost >= FEWEST_DEAD;
    // What is left once most were potted is what hung back.
    let is_left_over = 2 * batch.counts.potted > batch.counts.stuck;
    let is_alarm = is_heavy && !is_left_over && last.is_rare(batch, ordinary);
    is_alarm.then(|| FailingSign::Heavy {
        cause: last.cause(),
        now,
    })
}

/// What part of all that died in a journal's batches died of each spreading cause.
struct CauseParts([f64; SPREADING.len()]);

impl CauseParts {
    /// Of all batches; as if one cutting more had died, of each cause alike.
    fn learn(batches: &[Arc<Batch>]) -> Self {
        let mut all = Lost::default();
        for inspection in batches.iter().flat_map(|batch| &batch.inspections) {
            let dead = dead(inspection);
            for cause in Cause::ALL {
                all.add(*cause, dead.count(*cause));
            }
        }
        let each = 1.0 / Cause::ALL.len() as f64;
        let whole = f64::from(all.total()) + 1.0;
        Self(SPREADING.map(|cause| (f64::from(all.count(cause)) + each) / whole))
    }

    /// The part of a cause; all of them for one that does not spread.
    fn part(&self, cause: Cause) -> f64 {
        let at = SPREADING.iter().position(|spreading| *spreading == cause);
        at.and_then(|at| self.0.get(at)).copied().unwrap_or(1.0)
    }
}

/// Whether a cause takes more from look to look: faster a day, and more dead than before or many
/// at much the faster pace.
fn is_spreading(before: &Toll, last: &Toll, cause: Cause) -> bool {
    let (was, now) = (before.by_cause(cause), last.by_cause(cause));
    let (slow, fast) = (before.pace(cause), last.pace(cause));
    let many = now.lost >= MANY_DEAD && fast >= FASTER * slow;
    let enough = now.lost >= FEWEST_DEAD && share(now.lost, now.of) >= SPREADS;
    was.lost > 0 && fast > slow && enough && (now.lost > was.lost || many)
}

/// What the last look found of mould, if it was of late and found any.
fn mould(batch: &Batch, on: NaiveDate) -> Option<LossCount> {
    let tolls = tolls(batch);
    let last = tolls.last()?;
    let is_late = (on - last.day).num_days() <= OF_LATE;
    let now = last.by_cause(Cause::Mould);
    (is_late && now.lost > 0).then_some(now)
}

/// Mould at the last looks of the batches of one place.
#[derive(Default)]
struct PlaceMould {
    batches: usize,
    lost: u32,
    of: u32,
    seen: Option<NaiveDate>,
    /// Dead to be expected, of any cause, with the variance.
    expected: f64,
    variance: f64,
    /// Whether anything is known of what is ordinary.
    known: bool,
}

impl PlaceMould {
    /// Whether so much of it is more than comes of itself: in two batches or more, one in twenty of what stood there, and
    /// more than two and a third spreads above what is ordinary (one in a hundred).
    fn is_alarm(&self) -> bool {
        let rare = f64::from(self.lost) > self.expected + 2.33 * self.variance.sqrt();
        self.batches > 1 && share(self.lost, self.of) >= SPREADS && (rare || !self.known)
    }
}

/// Why open batches are failing on a day, what decides first; batches that are not are not named.
#[must_use]
pub fn failing(
    book: &Book,
    open: &[Arc<Batch>],
    on: NaiveDate,
    ordinary: &Ordinary<'_>,
) -> HashMap<Id, Vec<FailingSign>> {
    let mut places: HashMap<String, PlaceMould> = HashMap::new();
    let key = |batch: &Batch| Some(book.places().key(batch.place.as_deref()?));
    let late = |batch: &Batch| {
        let last = tolls(batch).pop();
        last.filter(|last| (on - last.day).num_days() <= OF_LATE)
    };
    for batch in open {
        if let (Some(place), Some(last)) = (key(batch), late(batch)) {
            let now = last.by_cause(Cause::Mould);
            if now.lost > 0 {
                let held = places.entry(place).or_default();
                held.batches += 1;
                held.lost += now.lost;
                held.of += now.of;
                held.seen = held.seen.max(Some(last.day));
            }
        }
    }
    places.retain(|_, held| held.batches > 1);
    // All batches of the place looked at of late count, whether they showed any or not.
    for batch in open {
        let Some(held) = key(batch).and_then(|place| places.get_mut(&place)) else {
            continue;
        };
        if let Some(last) = late(batch)
            && let Some(usual) = ordinary(batch, last.ages[0], last.ages[1])
        {
            let n = f64::from(last.of);
            held.known = true;
            held.expected += n * usual.share;
            held.variance += n
                * usual.share
                * (1.0 - usual.share)
                * (1.0 + (n - 1.0).max(0.0) * usual.correlation);
        }
    }
    let parts = CauseParts::learn(&book.batches_on(on));
    let mut out: HashMap<Id, Vec<FailingSign>> = HashMap::new();
    for batch in open {
        let mut signs: Vec<FailingSign> = alone(batch, &parts, ordinary).into_iter().collect();
        let here = key(batch).and_then(|key| places.get(&key));
        let here = here.filter(|held| held.is_alarm());
        if let (Some(held), Some(now), Some(place)) = (here, mould(batch, on), &batch.place) {
            signs.push(FailingSign::Mould {
                place: split_spot(place).0.to_owned(),
                batches: held.batches,
                seen: held.seen.unwrap_or(now.day),
                now,
            });
        }
        if !signs.is_empty() {
            out.insert(batch.key.clone(), signs);
        }
    }
    out
}

/// Where the journal says nothing of what is ordinary.
#[must_use]
pub fn unknown(_: &Batch, _: u32, _: u32) -> Option<OrdinaryLoss> {
    None
}
