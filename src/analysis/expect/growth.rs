//! What comes after rooting: when a batch is ready for potting and its plants for sale, and what share gets so
//! far. It forecasts no batch.

use super::draws::Cumulative;
use super::groups::Groups;
use super::observed::Observed;
use super::shares::{ShareEvidence, Shares};
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::intervals::Account;
use crate::model::entry::Kind;
use crate::stats::pooled::{Pooled, half_normal};
use crate::stats::pooling::{Before, Grid, Spot, Spreads};
use chrono::NaiveDate;

/// ln of a day over the batch's middle day of rooting.
const RATIOS: Grid = Grid {
    low: -0.8,
    step: 0.06,
    len: 67,
};
/// Spreads between batches of a group that are tried.
const BETWEEN: [f64; 5] = [0.06, 0.12, 0.2, 0.35, 0.6];
/// Spreads between groups that are tried.
const SPREADS: Spreads<'static> = Spreads {
    tried: &[0.03, 0.1, 0.25, 0.5],
    scale: 0.4,
};

/// A later day as a multiple of the batch's middle day of rooting, in logarithms, pooled over groups.
#[derive(Clone, Debug)]
pub(super) struct Multiple(Pooled);

impl Multiple {
    /// Learns from batches: leaf, and ln of the day over the middle day of rooting. `guess`: middle and spread of
    /// the logarithm without history (common practice).
    pub fn learn(groups: &Groups, seen: &[(usize, f64)], guess: (f64, f64)) -> Self {
        let leaves: Vec<usize> = seen.iter().map(|unit| unit.0).collect();
        let before = Before {
            starts: &half_normal(&BETWEEN, SPREADS.scale),
            row: BETWEEN.len(),
            spreads: &SPREADS,
            root: &RATIOS.normal(guess.0, guess.1),
        };
        let says = |start: usize, unit: usize| {
            let between = BETWEEN[start];
            let logs = RATIOS.normal(seen[unit].1, between).into_iter();
            logs.map(|log| log - between.ln()).collect()
        };
        Self(Pooled::learn(&groups.tree, RATIOS, &leaves, &before, &says))
    }

    /// Points and chances of the logarithm for a batch at a spot.
    pub fn prior(&self, spot: Spot) -> Vec<(f64, f64)> {
        let chances = self.0.around(spot, None, &BETWEEN);
        RATIOS.points().zip(chances).collect()
    }
}

/// One batch's steps beyond rooting by a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Steps {
    /// Potted of those rooted, once the bench is clear.
    pub potted: Option<(f64, f64)>,
    /// Ready of those potted, in cuttings, once most are, or nothing more is heard of it.
    pub ready: Option<(f64, f64)>,
    /// Days since sticking of the first potting.
    pub first_potted: Option<f64>,
    /// Days since sticking of the first plants ready.
    pub first_ready: Option<f64>,
}

impl Steps {
    /// Of a batch of which `rooted` rooted by that day.
    pub fn of(batch: &Batch, on: NaiveDate, rooted: f64, closed: bool) -> Option<Self> {
        let counts = batch.counts_on(on)?;
        let off = f64::from(counts.potted + counts.finished_on_bench);
        let per_plant = f64::from(batch.stick.per_plant.unwrap_or(1).max(1));
        let from_pots = counts.ready.saturating_sub(counts.ready_from_bench);
        let ready = f64::from(from_pots) * per_plant + f64::from(counts.finished_on_bench);
        // While more grow on than were made ready, the first of them tell nothing of how many will be.
        let growing = off - ready - f64::from(counts.lost_in_pots);
        let is_decided = growing <= ready || batch.is_silent(on);
        Some(Self {
            potted: (closed && rooted >= 1.0).then_some((off.min(rooted), rooted)),
            ready: (ready > 0.0 && off > 0.0 && is_decided).then_some((ready.min(off), off)),
            first_potted: first(batch, on, |kind| {
                matches!(kind, Kind::Pot(_) | Kind::Ready(_))
            }),
            first_ready: first_ready(batch, on),
        })
    }
}

/// Days since sticking of a batch's first entry of some kind by a day.
fn first(batch: &Batch, on: NaiveDate, is: fn(&Kind) -> bool) -> Option<f64> {
    let mut by = batch.events.iter().filter(|e| e.entry.at.day() <= on);
    let found = by.find(|e| is(&e.entry.kind))?;
    Some(f64::from(found.age.max(1)))
}

/// Days since sticking of its first plants ready for sale.
pub(super) fn first_ready(batch: &Batch, on: NaiveDate) -> Option<f64> {
    first(batch, on, |kind| matches!(kind, Kind::Ready(_)))
}

/// The steps beyond rooting, as learnt.
#[derive(Clone, Debug)]
pub(super) struct Growth {
    /// Potted of those rooted.
    pub potted: Shares,
    /// Ready of those potted.
    pub ready: Shares,
    /// Batches that told of potting, and of plants ready.
    pub told: [usize; 2],
    /// Day ready for potting over the middle day of rooting.
    pub potting: Multiple,
    /// Day of the first plants ready over the middle day of rooting.
    pub sale: Multiple,
}

/// What one batch tells of the steps beyond rooting.
#[derive(Clone, Copy, Debug)]
pub(super) struct GrowthRecord {
    pub leaf: usize,
    pub steps: Steps,
    /// Its middle day of rooting.
    pub rooting: f64,
    /// Day on which it was ready for potting.
    pub potting: Option<f64>,
}

/// Multiples of the middle day of rooting, to draw from.
#[derive(Clone, Debug)]
pub(super) struct MultipleDraws {
    points: Vec<(f64, f64)>,
    sums: Cumulative,
}

impl MultipleDraws {
    /// The multiple that two numbers in 0 to 1 stand for: one picks the point, one the place around it.
    pub fn draw(&self, pick: f64, place: f64) -> f64 {
        (self.points[self.sums.at(pick)].0 + RATIOS.step * (place - 0.5)).exp()
    }
}

impl Growth {
    /// A multiple at a spot, to draw from.
    pub fn draws(multiple: &Multiple, spot: Spot) -> MultipleDraws {
        let points = multiple.prior(spot);
        let sums = Cumulative::new(points.iter().map(|p| p.1));
        MultipleDraws { points, sums }
    }

    /// The multiple of the last rung that the journal knows: plants for sale, or failing them potting.
    pub fn saleable(&self) -> &Multiple {
        if self.told[1] > 0 {
            &self.sale
        } else {
            &self.potting
        }
    }

    /// Learns from batches.
    pub fn learn(groups: &Groups, told: &[GrowthRecord]) -> Self {
        let counted = |of: fn(&Steps) -> Option<(f64, f64)>| -> Vec<(usize, ShareEvidence)> {
            let each = told.iter().filter_map(|t| Some((t.leaf, of(&t.steps)?)));
            each.map(|(leaf, (x, n))| (leaf, ShareEvidence::Counted(x, n)))
                .collect()
        };
        let multiple = |of: &dyn Fn(&GrowthRecord) -> Option<f64>| -> Vec<(usize, f64)> {
            told.iter()
                .filter_map(|t| Some((t.leaf, (of(t)? / t.rooting).ln())))
                .collect()
        };
        let (potted, ready) = (counted(|s| s.potted), counted(|s| s.ready));
        Self {
            told: [potted.len(), ready.len()],
            potted: Shares::learn(groups, &potted),
            ready: Shares::learn(groups, &ready),
            // From roots to a filled cell half as long again; to a saleable plant two to three months (common practice).
            potting: Multiple::learn(groups, &multiple(&|t| t.potting), (0.4, 0.25)),
            sale: Multiple::learn(groups, &multiple(&|t| t.steps.first_ready), (1.1, 0.5)),
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
    let steps = Steps::of(batch, on, seen.reached, seen.closed)?;
    let rooted = account.of(Milestone::Root).reached;
    let bottom = account.of(Milestone::Bottom);
    let (mut sum, mut filled) = (0.0, None);
    for piece in &bottom.pieces {
        let Some(right) = piece
            .right
            .filter(|_| piece.status == crate::fold::intervals::IntervalStatus::Reached)
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
