//! What a timeline is asked for, and a group's cuttings for one milestone as rows of the estimate, unit by
//! unit. It draws no sample itself.

use crate::fold::batch::Milestone;
use crate::fold::intervals::{IntervalStatus, WeightedInterval};
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::stats::members::MemberRows;
use crate::stats::npmle::{Outcome, Row};
use crate::stats::shares::Count;

/// What a group's figures are drawn from, and what is drawn anew when they are resampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::analysis) enum GroupUnit {
    /// Batches that do not share a fate.
    Batch,
    /// Nurseries, each with its batches.
    Nursery,
}

/// A part of a group: a batch, or all batches of one nursery.
pub(in crate::analysis) struct GroupMember<'a> {
    /// Its unit, numbered within the group from 0.
    pub unit: usize,
    pub batches: usize,
    pub stuck: u64,
    pub lost: u64,
    pub closed: usize,
    /// Cuttings stuck in closed batches.
    pub closed_stuck: u64,
    pub guesses: u32,
    pub sampled: u32,
    pub unexplained: u32,
    /// Callus, root, bottom.
    pub milestones: [MemberMilestone<'a>; 3],
}

/// What a member shows of one milestone.
#[derive(Clone, Copy)]
pub(in crate::analysis) struct MemberMilestone<'a> {
    pub pieces: &'a [WeightedInterval],
    pub examined: bool,
    /// The binomial n.
    pub counted: f64,
    /// Sum of the squares of the binomial n of its replicates.
    pub counted_squares: f64,
    pub watched: f64,
    /// How many reached it in closed batches.
    pub closed_reached: f64,
    /// Batches that had it on the day of sticking.
    pub at_sticking: usize,
    /// Batches that were counted backwards.
    pub fallen: usize,
}

impl<'a> GroupMember<'a> {
    pub(in crate::analysis) fn milestone(&self, milestone: Milestone) -> &MemberMilestone<'a> {
        &self.milestones[milestone as usize]
    }
}

/// The cuttings of a group for one milestone.
pub(super) struct Sample {
    /// What the rows' members are.
    pub(super) unit: GroupUnit,
    /// By unit; a weight is a number of cuttings.
    pub(super) rows: MemberRows,
    /// The binomial n of each unit: cuttings seen at the last tally, with those potted or lost.
    pub(super) counted: Vec<f64>,
    /// The size of the batch that a cutting finds itself in: Σn²/Σn.
    pub(super) batch_size: f64,
    /// Cuttings on the bench still without the milestone.
    pub(super) watched: f64,
    /// The intervals within which the milestone was reached, by their left ends.
    reached: Vec<(f64, f64)>,
}

fn row(piece: &WeightedInterval) -> Row {
    let left = f64::from(piece.left);
    match (piece.right.map(f64::from), piece.status) {
        (Some(right), IntervalStatus::Reached) => Row::reached(left, right, piece.weight),
        (Some(right), IntervalStatus::Lost) => Row::lost(left, right, piece.weight),
        (None, _) | (Some(_), IntervalStatus::NotYet) => Row::not_yet(left, piece.weight),
    }
}

impl Sample {
    /// Makes the rows of a group whose members' units are numbered from 0 to `units` − 1.
    pub(super) fn new(
        milestone: Milestone,
        members: &[GroupMember],
        units: usize,
        unit: GroupUnit,
    ) -> Self {
        let mut rows = vec![Vec::new(); units];
        let (mut counted, mut watched, mut squares) = (vec![0.0; units], 0.0, 0.0);
        for member in members {
            let own = member.milestone(milestone);
            counted[member.unit] += own.counted;
            squares += own.counted_squares;
            watched += own.watched;
            rows[member.unit].extend(own.pieces.iter().map(row));
        }
        let rows = MemberRows::new(&rows);
        let reached = rows.rows().iter();
        let reached = reached.filter(|row| row.event() == Some(Outcome::Reached));
        Self {
            reached: reached.map(|row| (row.left, row.right)).collect(),
            batch_size: squares / counted.iter().sum::<f64>(),
            unit,
            rows,
            counted,
            watched,
        }
    }

    /// How many units there are.
    pub(super) fn units(&self) -> usize {
        self.rows.members().len()
    }

    /// The nearest that any batch's own looks tell of what came in (`after`, `by`]: the latest day on which a batch that
    /// reached it in an interval around had not yet. Batches looked at on different days part a curve more finely than
    /// any of them was watched.
    pub(super) fn last_look_before(&self, after: f64, by: f64) -> f64 {
        let open = self.reached.partition_point(|(left, _)| *left <= after);
        let mut around = self.reached[..open].iter().rev();
        let latest = around.find(|(_, right)| *right >= by);
        latest.map_or(0.0, |(left, _)| *left)
    }

    /// Whether some cuttings were not followed to the day `tau`.
    pub(super) fn is_censored(&self, tau: f64) -> bool {
        let waiting = |row: &Row| row.event().is_none() && row.left < tau;
        self.rows.rows().iter().any(waiting)
    }

    /// What each unit reached, of how many cuttings.
    pub(super) fn counts(&self) -> Vec<Count> {
        let reached = |at: usize| self.rows.rows()[at].event() == Some(Outcome::Reached);
        let count = |part: &Vec<(usize, f64)>| Count {
            x: part
                .iter()
                .filter(|(at, _)| reached(*at))
                .map(|(_, weight)| weight)
                .sum(),
            n: part.iter().map(|(_, weight)| weight).sum(),
        };
        self.rows.members().iter().map(count).collect()
    }
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct TimelineOptions {
    /// The batches meant.
    pub about: Selection,
    /// By what they are grouped beside their taxon.
    pub by: Vec<GroupKey>,
    /// Confidence level, e.g. 0.95.
    pub level: f64,
    /// How many resamples give the ranges of days, 999 by custom; 0 leaves them out.
    pub resamples: usize,
    /// Seed of the resampling.
    pub seed: u64,
    /// Whether each curve's pointwise band is wanted.
    pub band: bool,
}

impl Default for TimelineOptions {
    fn default() -> Self {
        Self {
            about: Selection::default(),
            by: Vec::new(),
            level: 0.95,
            resamples: 999,
            seed: 1,
            band: false,
        }
    }
}
