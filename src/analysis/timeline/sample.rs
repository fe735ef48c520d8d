//! What a timeline is asked for, and a group's cuttings for one milestone as rows of the estimate, replicate by
//! replicate. It draws no sample itself.

use crate::fold::batch::{Batch, Milestone};
use crate::fold::intervals::{Account, IntervalStatus, WeightedInterval};
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::stats::members::MemberRows;
use crate::stats::npmle::{Outcome, Row};
use crate::stats::shares::Count;

/// A batch in a group.
pub(super) struct GroupMember<'a> {
    pub(super) batch: &'a Batch,
    pub(super) account: &'a Account,
    /// Its replicate, numbered within the group from 0.
    pub(super) replicate: usize,
}

/// The cuttings of a group for one milestone.
pub(super) struct Sample {
    /// By replicate; a weight is a number of cuttings.
    pub(super) rows: MemberRows,
    /// The binomial n of each replicate: cuttings seen at the last tally, with those potted or lost.
    pub(super) counted: Vec<f64>,
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
    /// Makes the rows of a group whose members' replicates are numbered from 0 to `replicates` − 1.
    pub(super) fn new(milestone: Milestone, members: &[GroupMember], replicates: usize) -> Self {
        let mut rows = vec![Vec::new(); replicates];
        let (mut counted, mut watched) = (vec![0.0; replicates], 0.0);
        for member in members {
            let account = member.account.milestone(milestone);
            counted[member.replicate] += account.counted;
            watched += account.watched;
            rows[member.replicate].extend(account.pieces.iter().map(row));
        }
        let rows = MemberRows::new(&rows);
        let reached = rows.rows().iter();
        let reached = reached.filter(|row| row.event() == Some(Outcome::Reached));
        Self {
            reached: reached.map(|row| (row.left, row.right)).collect(),
            rows,
            counted,
            watched,
        }
    }

    /// How many replicates there are.
    pub(super) fn replicates(&self) -> usize {
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

    /// What each replicate reached, of how many cuttings.
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
