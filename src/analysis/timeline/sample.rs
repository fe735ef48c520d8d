//! What a timeline is asked for, and a group's cuttings for one milestone as rows of the estimate, replicate by
//! replicate. It draws no sample itself.

use crate::fold::batch::{Batch, Milestone};
use crate::fold::intervals::{Account, IntervalStatus, WeightedInterval};
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::stats::npmle::{Estimate, Outcome, Reweighed, Row, by_place};
use crate::stats::shares::Count;

/// A batch in a group.
pub(super) struct GroupMember<'a> {
    pub(super) batch: &'a Batch,
    pub(super) account: &'a Account,
    /// Its replicate, numbered within the group from 0.
    pub(super) replicate: usize,
}

/// The distinct rows of a group, and what each replicate adds to their weights.
pub(super) struct Sample {
    /// In order, of no weight.
    rows: Vec<Row>,
    curves: Reweighed,
    /// For each replicate: which rows, how many cuttings.
    replicates: Vec<Vec<(usize, f64)>>,
    /// The binomial n of each replicate: cuttings seen at the last tally, with those potted or lost.
    pub(super) counted: Vec<f64>,
    /// Cuttings on the bench still without the milestone.
    pub(super) watched: f64,
    /// The intervals within which the milestone was reached, by their left ends.
    reached: Vec<(f64, f64)>,
}

/// Left, right and status of a piece; pieces of one place differ in weight alone.
type Place = (u32, Option<u32>, IntervalStatus);

fn place(piece: &WeightedInterval) -> Place {
    (piece.left, piece.right, piece.status)
}

fn row(&(left, right, status): &Place) -> Row {
    let left = f64::from(left);
    match (right.map(f64::from), status) {
        (Some(right), IntervalStatus::Reached) => Row::reached(left, right, 0.0),
        (Some(right), IntervalStatus::Lost) => Row::lost(left, right, 0.0),
        (None, _) | (Some(_), IntervalStatus::NotYet) => Row::not_yet(left, 0.0),
    }
}

impl Sample {
    /// Makes the rows of a group whose members' replicates are numbered from 0 to `replicates` − 1.
    pub(super) fn new(milestone: Milestone, members: &[GroupMember], replicates: usize) -> Self {
        let accounts = members
            .iter()
            .map(|member| (member.account.milestone(milestone), member.replicate));
        let mut places: Vec<Place> = Vec::new();
        for (account, _) in accounts.clone() {
            places.extend(account.pieces.iter().map(place));
        }
        places.sort_unstable();
        places.dedup();
        let mut rows: Vec<(Row, usize)> = places.iter().map(row).zip(0..).collect();
        rows.sort_by(|(a, _), (b, _)| by_place(a, b));
        let mut row_of = vec![0; rows.len()];
        for (at, (_, place)) in rows.iter().enumerate() {
            row_of[*place] = at;
        }
        let rows: Vec<Row> = rows.into_iter().map(|(row, _)| row).collect();
        let reached = rows
            .iter()
            .filter(|row| row.event() == Some(Outcome::Reached));
        let mut sample = Self {
            curves: Reweighed::new(&rows),
            reached: reached.map(|row| (row.left, row.right)).collect(),
            rows,
            replicates: vec![Vec::new(); replicates],
            counted: vec![0.0; replicates],
            watched: 0.0,
        };
        for (account, replicate) in accounts {
            sample.counted[replicate] += account.counted;
            sample.watched += account.watched;
            for piece in &account.pieces {
                if let Ok(at) = places.binary_search(&place(piece)) {
                    sample.replicates[replicate].push((row_of[at], piece.weight));
                }
            }
        }
        sample
    }

    /// How many replicates there are.
    pub(super) fn replicates(&self) -> usize {
        self.replicates.len()
    }

    /// The estimate of the group, certified as the maximum.
    pub(super) fn estimate(&self) -> Option<Estimate> {
        let weights = self.weights(&vec![1; self.replicates.len()]);
        self.curves.estimate(&weights, None)
    }

    /// The estimate with each replicate taken so many times, sought from that of the group and certified alike.
    pub(super) fn estimate_near(&self, times: &[usize], near: &Estimate) -> Option<Estimate> {
        self.curves.estimate(&self.weights(times), Some(near))
    }

    /// As [`Self::estimate_near`], as closely as a range of days asks for.
    pub(super) fn resample(&self, times: &[usize], near: &Estimate) -> Option<Estimate> {
        self.curves.resample(&self.weights(times), near)
    }

    /// What the rows weigh with each replicate taken so many times.
    fn weights(&self, times: &[usize]) -> Vec<f64> {
        let mut weights = vec![0.0; self.rows.len()];
        for (part, &times) in self.replicates.iter().zip(times) {
            if times > 0 {
                for &(at, weight) in part {
                    weights[at] += weight * times as f64;
                }
            }
        }
        weights
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
        self.rows.iter().any(waiting)
    }

    /// What each replicate reached, of how many cuttings.
    pub(super) fn counts(&self) -> Vec<Count> {
        let reached = |at: usize| self.rows[at].event() == Some(Outcome::Reached);
        let count = |part: &Vec<(usize, f64)>| Count {
            x: part
                .iter()
                .filter(|(at, _)| reached(*at))
                .map(|(_, weight)| weight)
                .sum(),
            n: part.iter().map(|(_, weight)| weight).sum(),
        };
        self.replicates.iter().map(count).collect()
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
