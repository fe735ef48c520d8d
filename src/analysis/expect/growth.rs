//! What comes after rooting: when a batch is ready for potting and its plants for sale, and what share gets so
//! far. It forecasts no batch.

use super::groups::Groups;
use super::multiple::Multiple;
use super::observed::Observed;
use super::ready::{Lots, PlantDays};
use super::shares::{ShareEvidence, Shares};
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::intervals::{Account, IntervalStatus};
use crate::model::entry::{KindName, Ready};
use chrono::NaiveDate;

/// Common practice without history: nine in ten get from one step to the next, between some six and ninety-eight in a
/// hundred; in logits.
const MOST_GO_ON: (f64, f64) = (2.2, 1.0);

/// ln of the day of roots at the bottom over the middle day of rooting, and its spread; the spread of ln days within a batch
/// (common practice: a cell is filled in half as long again).
pub(super) const BOTTOM: (f64, f64) = (0.4, 0.25);
pub(super) const WITHIN: f64 = 0.15;

/// One batch's steps beyond rooting by a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Steps {
    /// Potted of those rooted, once the bench is clear.
    pub potted: Option<(f64, f64)>,
    /// Ready of those potted, in cuttings, once none grows on any more, or nothing is heard of it.
    pub ready: Option<(f64, f64)>,
    /// Days since sticking of the first potting.
    pub first_potted: Option<f64>,
}

impl Steps {
    /// Of a batch of which `rooted` rooted by that day.
    pub fn new(batch: &Batch, on: NaiveDate, rooted: f64, closed: bool) -> Option<Self> {
        let counts = batch.counts_on(on)?;
        let off = f64::from(counts.potted + counts.finished_on_bench);
        let per_plant = f64::from(batch.stick.per_plant.unwrap_or(1).max(1));
        let from_pots = counts.ready.saturating_sub(counts.ready_from_bench);
        let ready = f64::from(from_pots) * per_plant + f64::from(counts.finished_on_bench);
        // While any grow on, those made ready so far tell nothing of how many will be.
        let growing = off - ready - f64::from(counts.lost_in_pots);
        let is_decided = growing < 0.5 || batch.is_silent(on);
        Some(Self {
            potted: (closed && rooted >= 1.0).then_some((off.min(rooted), rooted)),
            ready: (ready > 0.0 && off > 0.0 && is_decided).then_some((ready.min(off), off)),
            first_potted: first(batch, on, |name| {
                matches!(name, KindName::Pot | KindName::Ready)
            }),
        })
    }
}

/// Days since sticking of a batch's first entry of some kind by a day.
fn first(batch: &Batch, on: NaiveDate, is: fn(KindName) -> bool) -> Option<f64> {
    let mut by = batch.events.iter().filter(|e| e.entry.at.day() <= on);
    let found = by.find(|e| is(e.entry.name()))?;
    Some(f64::from(found.age.max(1)))
}

/// The plants of a batch made ready by a day, in cuttings; `rooting` is the ln of its middle day of rooting.
pub(super) fn ready_lots(batch: &Batch, on: NaiveDate, rooting: f64) -> Lots {
    let per_plant = f64::from(batch.stick.per_plant.unwrap_or(1).max(1));
    let by = batch.events.iter().filter(|e| e.entry.at.day() <= on);
    let mut lots = Lots {
        rooting,
        ..Lots::default()
    };
    for event in by {
        if let Some(ready) = event.entry.get::<Ready>() {
            let age = f64::from(event.age.max(1));
            lots.arrived
                .push((age - 1.0, age, f64::from(ready.count) * per_plant));
            lots.until = age;
        }
    }
    let counts = batch.counts_on(on).unwrap_or_default();
    let arrived: f64 = lots.arrived.iter().map(|(.., n)| n).sum();
    lots.lost = f64::from(counts.lost_in_pots);
    let off = f64::from(counts.potted + counts.finished_on_bench);
    lots.waiting = (off - arrived - lots.lost).max(0.0);
    lots
}

/// When a batch's cuttings came to a milestone, by its looks; `rooting` is the ln of its middle day of rooting.
pub(super) fn milestone_lots(account: &Account, milestone: Milestone, rooting: f64) -> Lots {
    let account_of = account.milestone(milestone);
    let mut lots = Lots {
        rooting,
        ..Lots::default()
    };
    for piece in &account_of.pieces {
        match (piece.status, piece.right) {
            (IntervalStatus::Reached, Some(right)) => {
                let (from, to) = (f64::from(piece.left), f64::from(right));
                lots.arrived.push((from, to, piece.weight));
            }
            (IntervalStatus::NotYet, _) if !account.is_closed() => {
                lots.waiting += piece.weight;
                lots.until = lots.until.max(f64::from(piece.left));
            }
            _ => {}
        }
    }
    lots
}

/// The steps beyond rooting, as learnt.
#[derive(Clone, Debug)]
pub(super) struct Growth {
    /// Potted of those rooted.
    pub potted: Shares,
    /// Ready of those potted.
    pub ready: Shares,
    /// Batches that tell of potting, and of plants ready, to the end.
    pub batches: [usize; 2],
    /// Day ready for potting over the middle day of rooting.
    pub potting: Multiple,
    /// Days of single plants ready for sale.
    pub sale: PlantDays,
    /// Days of single cuttings with roots at the bottom.
    pub bottom: PlantDays,
}

/// What one batch tells of the steps beyond rooting.
#[derive(Clone, Debug)]
pub(super) struct GrowthRecord {
    pub leaf: usize,
    pub steps: Steps,
    /// Its middle day of rooting.
    pub rooting: f64,
    /// Day on which it was ready for potting.
    pub potting: Option<f64>,
    /// Its plants made ready.
    pub sale: Lots,
    /// Its roots at the bottom.
    pub bottom: Lots,
}

impl GrowthRecord {
    /// Of a batch by a day; nothing of one that was not stuck by then.
    pub fn new(
        batch: &Batch,
        account: &Account,
        observed: &Observed,
        on: NaiveDate,
        (leaf, rooting): (usize, f64),
    ) -> Option<Self> {
        Some(Self {
            leaf,
            rooting,
            steps: Steps::new(batch, on, observed.reached, observed.closed)?,
            potting: ready_to_pot(batch, account, observed, on),
            sale: ready_lots(batch, on, rooting.ln()),
            bottom: milestone_lots(account, Milestone::Bottom, rooting.ln()),
        })
    }
}

impl Growth {
    /// Learns from batches.
    pub fn learn(groups: &Groups, records: &[GrowthRecord]) -> Self {
        let counted = |of: fn(&Steps) -> Option<(f64, f64)>| -> Vec<(usize, ShareEvidence)> {
            let each = records.iter().filter_map(|r| Some((r.leaf, of(&r.steps)?)));
            each.map(|(leaf, (x, n))| (leaf, ShareEvidence::Counted(x, n)))
                .collect()
        };
        let lots = |of: fn(&GrowthRecord) -> &Lots| -> Vec<(usize, Lots)> {
            records.iter().map(|r| (r.leaf, of(r).clone())).collect()
        };
        let potting = records
            .iter()
            .filter_map(|r| Some((r.leaf, (r.potting? / r.rooting).ln())));
        let (potted, ready) = (counted(|s| s.potted), counted(|s| s.ready));
        Self {
            batches: [potted.len(), ready.len()],
            potted: Shares::learn(groups, &potted, MOST_GO_ON),
            ready: Shares::learn(groups, &ready, MOST_GO_ON),
            // From roots to a filled cell half as long again; to a saleable plant two to three months (common practice).
            potting: Multiple::learn(groups, &potting.collect::<Vec<_>>(), (0.4, 0.25)),
            sale: PlantDays::learn(groups, &lots(|r| &r.sale), (1.1, 0.5), WITHIN),
            bottom: PlantDays::learn(groups, &lots(|r| &r.bottom), BOTTOM, WITHIN),
        }
    }
}

/// The day on which a batch was first ready for potting: half of those that rooted with roots at the bottom, or
/// the first potting, whichever came first.
pub(super) fn ready_to_pot(
    batch: &Batch,
    account: &Account,
    seen: &Observed,
    on: NaiveDate,
) -> Option<f64> {
    let steps = Steps::new(batch, on, seen.reached, seen.closed)?;
    let rooted = account.milestone(Milestone::Root).reached;
    let bottom = account.milestone(Milestone::Bottom);
    let (mut sum, mut filled) = (0.0, None);
    for piece in &bottom.pieces {
        let Some(right) = piece
            .right
            .filter(|_| piece.status == IntervalStatus::Reached)
        else {
            continue;
        };
        if rooted > 0.0 && sum + piece.weight >= 0.5 * rooted {
            let part = ((0.5 * rooted - sum) / piece.weight).clamp(0.0, 1.0);
            filled = Some(f64::from(piece.left) + part * f64::from(right - piece.left));
            break;
        }
        sum += piece.weight;
    }
    match (filled, steps.first_potted) {
        (Some(a), Some(b)) => Some(a.min(b).max(1.0)),
        (a, b) => a.or(b).map(|day| day.max(1.0)),
    }
}

/// Days since sticking.
pub(super) fn age(batch: &Batch, on: NaiveDate) -> u32 {
    u32::try_from((on - batch.stuck_on).num_days()).unwrap_or(0)
}
