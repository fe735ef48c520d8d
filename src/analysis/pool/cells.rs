//! What a pool keeps of one nursery's season in one group once several nurseries are there: sums, and its cuttings by
//! distinct interval, batches no longer told apart. It estimates nothing.

use super::row::{PooledInterval, PooledMeasures};
use crate::analysis::timeline::followed;
use crate::fold::batch::Milestone;
use crate::fold::intervals::{IntervalStatus, WeightedInterval};
use crate::stats::shares::Count;
use std::collections::BTreeMap;

/// Cuttings of one fate in one interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Piece {
    left: u32,
    /// [`OPEN`] for not yet.
    right: u32,
    pub weight: f64,
    status: IntervalStatus,
}

/// The right end of what has not come.
const OPEN: u32 = u32::MAX;

impl Piece {
    fn new(interval: &PooledInterval) -> Self {
        Self {
            left: interval.left,
            right: interval.right.unwrap_or(OPEN),
            weight: interval.weight,
            status: interval.status,
        }
    }

    pub(super) fn place(&self) -> (IntervalStatus, u32, u32) {
        (self.status, self.left, self.right)
    }

    pub(super) fn interval(&self) -> WeightedInterval {
        WeightedInterval {
            left: self.left,
            right: (self.right != OPEN).then_some(self.right),
            weight: self.weight,
            status: self.status,
        }
    }
}

/// Pieces sorted, those of one place added up.
pub(super) fn merged(mut pieces: Vec<Piece>) -> Vec<Piece> {
    pieces.sort_by(|a, b| {
        let order = a.place().cmp(&b.place());
        order.then(a.weight.total_cmp(&b.weight))
    });
    pieces.dedup_by(|piece, before| {
        let same = piece.place() == before.place();
        if same {
            before.weight += piece.weight;
        }
        same
    });
    pieces
}

/// What a cell shows of one milestone.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct CellMilestone {
    pub pieces: Box<[Piece]>,
    pub examined: bool,
    pub counted: f64,
    pub counted_squares: f64,
    pub watched: f64,
    pub closed_reached: f64,
    pub at_sticking: u32,
    pub fallen: u32,
    /// For each replicate of closed batches: how many reached it, of how many followed to their end.
    pub closed: Box<[(f32, f32)]>,
}

/// A cell.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct PoolCell {
    pub batches: u32,
    pub replicates: u32,
    pub stuck: u64,
    pub lost: u64,
    pub closed: u32,
    pub closed_stuck: u64,
    pub guesses: u32,
    pub sampled: u32,
    pub unexplained: u32,
    pub milestones: [CellMilestone; 3],
}

impl PoolCell {
    /// Of these batches with their intervals.
    pub(super) fn new(all: &[PooledMeasures], intervals: &[PooledInterval]) -> Self {
        let batches = || all.iter();
        let closed = || batches().filter(|it| it.closed);
        let mut replicates: Vec<u32> = batches().map(|it| it.replicate).collect();
        replicates.sort_unstable();
        replicates.dedup();
        Self {
            batches: all.len() as u32,
            replicates: replicates.len() as u32,
            stuck: batches().map(|it| u64::from(it.stuck)).sum(),
            lost: batches().map(|it| u64::from(it.lost)).sum(),
            closed: closed().count() as u32,
            closed_stuck: closed().map(|it| u64::from(it.stuck)).sum(),
            guesses: batches().map(|it| it.guesses).sum(),
            sampled: batches().map(|it| it.sampled).sum(),
            unexplained: batches().map(|it| it.unexplained).sum(),
            milestones: Milestone::ALL.map(|milestone| {
                let own = intervals.iter().filter(|it| it.milestone == milestone);
                cell_milestone(all, &own.collect::<Vec<_>>(), milestone)
            }),
        }
    }
}

/// `intervals` are those of the milestone.
fn cell_milestone(
    all: &[PooledMeasures],
    intervals: &[&PooledInterval],
    milestone: Milestone,
) -> CellMilestone {
    let batches = || all.iter();
    let own = || batches().map(|it| it.milestone(milestone));
    let count = |is: fn(&PooledMeasures, Milestone) -> bool| {
        batches().filter(|it| is(it, milestone)).count() as u32
    };
    let mut counted: BTreeMap<u32, f64> = BTreeMap::new();
    for batch in batches() {
        *counted.entry(batch.replicate).or_default() += batch.milestone(milestone).counted;
    }
    let pieces = intervals.iter().map(|it| Piece::new(it));
    CellMilestone {
        pieces: merged(pieces.collect()).into(),
        examined: own().any(|it| it.examined),
        counted: own().map(|it| it.counted).sum(),
        counted_squares: counted.values().map(|n| n * n).sum(),
        watched: own().map(|it| it.watched).sum(),
        closed_reached: batches()
            .filter(|it| it.closed)
            .map(|it| it.milestone(milestone).reached)
            .sum(),
        at_sticking: count(|it, milestone| it.milestone(milestone).at_sticking),
        fallen: count(|it, milestone| it.milestone(milestone).backwards),
        closed: closed_counts(all, intervals, milestone).into(),
    }
}

/// What each replicate reached in its closed batches, of how many that were not taken away before.
fn closed_counts(
    all: &[PooledMeasures],
    intervals: &[&PooledInterval],
    milestone: Milestone,
) -> Vec<(f32, f32)> {
    let closed = all
        .iter()
        .filter(|it| it.closed && it.milestone(milestone).examined);
    let replicates: BTreeMap<u32, u32> = closed.map(|it| (it.batch, it.replicate)).collect();
    let mut counts: BTreeMap<u32, Count> = BTreeMap::new();
    for interval in intervals {
        let Some(replicate) = replicates.get(&interval.batch) else {
            continue;
        };
        let count = counts.entry(*replicate).or_insert(Count { x: 0.0, n: 0.0 });
        let own = followed(&[interval.weighted()]);
        count.x += own.x;
        count.n += own.n;
    }
    let counts = counts.into_values();
    counts.map(|it| (it.x as f32, it.n as f32)).collect()
}
