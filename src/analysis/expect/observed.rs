//! What was seen of one batch by a day, as forecasts use it. It estimates nothing.

use crate::fold::batch::Milestone;
use crate::fold::batch::{Batch, Inspection};
use crate::fold::intervals::{Account, IntervalStatus, WeightedInterval};
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use chrono::NaiveDate;

/// A spoken guess is worth counting so many: a binomial share of so many is as spread as the bands that guesses are
/// read by (few 1–30 %, half 30–70 %, most 70–95 %, each evenly likely within).
const GUESS: f64 = 18.0;

/// How many of the cuttings that waited to root at the last lift were callused.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CallusTally {
    /// Days since sticking.
    pub age: f64,
    /// Callused, among those seen that were not rooted.
    pub callused: f64,
    /// How many were seen and not rooted.
    pub waiting: f64,
}

/// A batch as seen by a day.
#[derive(Clone, Debug)]
pub(super) struct Observed {
    pub key: Id,
    pub taxon: Taxon,
    pub wood: Option<Wood>,
    /// Cuttings stuck, parts that left taken off.
    pub stuck: u32,
    /// Nothing remains on the bench.
    pub closed: bool,
    /// Pieces of the root milestone.
    pub pieces: Vec<WeightedInterval>,
    /// Ever rooted, as far as seen.
    pub reached: f64,
    /// Lost or cleared first.
    pub lost: f64,
    /// On the bench, not rooted when last examined.
    pub waiting: f64,
    /// The share of the batch that the last tally counted: what the pieces are worth as evidence.
    pub worth: f64,
    /// Days since sticking at which root was last examined; 0 if never.
    pub examined: u32,
    /// Days since sticking of the last look of any kind; 0 if none.
    pub looked: u32,
    /// The callused among those waiting, if the last examination was a lift.
    pub split: Option<CallusTally>,
}

/// The lift's tally of callus among those not rooted.
pub(super) fn split(inspection: &Inspection) -> Option<CallusTally> {
    let tally = inspection.tally?;
    let (callus, root) = (tally.callus?, tally.root?);
    let waiting = tally.seen.saturating_sub(root);
    (waiting > 0 && tally.about.is_none()).then(|| CallusTally {
        age: f64::from(inspection.age),
        callused: f64::from(callus.saturating_sub(root)),
        waiting: f64::from(waiting),
    })
}

impl Observed {
    /// What was seen of a batch by its account at the end of a day.
    pub fn new(batch: &Batch, account: &Account, on: NaiveDate) -> Self {
        let root = account.milestone(Milestone::Root);
        let by = || batch.inspections.iter().filter(|i| i.day <= on);
        let examines = |i: &&Inspection| i.tally.is_some_and(|t| t.root.is_some());
        let last = by().rfind(examines);
        let inherited = || {
            let waits = root
                .pieces
                .iter()
                .filter(|p| p.status == IntervalStatus::NotYet);
            waits.map(|p| p.left).max().unwrap_or(0)
        };
        let examined = last.map_or_else(inherited, |i| i.age);
        let examined = examined.max(u32::from(root.at_sticking > 0.0));
        let sum = |status| -> f64 {
            let of = root.pieces.iter().filter(|p| p.status == status);
            of.map(|p| p.weight).sum()
        };
        let stuck = f64::from(account.stuck);
        let counted = match last.and_then(|i| i.tally) {
            // All but what the last tally saw has left the bench and is known.
            Some(tally) if tally.about.is_some() => {
                root.counted - (f64::from(tally.seen) - GUESS).max(0.0)
            }
            _ => root.counted,
        };
        let worth = if root.examined && stuck > 0.0 {
            (counted / stuck).clamp(0.02, 1.0)
        } else {
            1.0
        };
        Self {
            key: batch.key.clone(),
            taxon: Taxon::clone(&batch.taxon),
            wood: batch.stick.wood,
            stuck: account.stuck,
            closed: account.is_closed(),
            reached: root.reached,
            lost: sum(IntervalStatus::Lost),
            waiting: root.watched,
            worth,
            examined,
            looked: by().next_back().map_or(0, |i| i.age).max(examined),
            split: last.and_then(split),
            pieces: root.pieces.clone(),
        }
    }

    /// Pieces of that fate.
    pub fn of_status(&self, status: IntervalStatus) -> impl Iterator<Item = &WeightedInterval> {
        self.pieces.iter().filter(move |p| p.status == status)
    }

    /// The day by which half of those that rooted had, by a straight line inside the look's interval.
    pub fn half_of(&self, whole: f64) -> Option<f64> {
        let half = 0.5 * whole;
        let mut sum = 0.0;
        let mut reached: Vec<&WeightedInterval> = self.of_status(IntervalStatus::Reached).collect();
        reached.sort_by_key(|p| p.right);
        for piece in reached {
            if sum + piece.weight >= half - 1e-9 {
                let (left, right) = (f64::from(piece.left), f64::from(piece.right?));
                return Some(left + (right - left) * ((half - sum) / piece.weight).clamp(0.0, 1.0));
            }
            sum += piece.weight;
        }
        None
    }
}
