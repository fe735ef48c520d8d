//! A group's cuttings for one milestone as rows of the estimate, replicate by replicate. It draws
//! no sample itself.

use super::Member;
use crate::fold::batch::Milestone;
use crate::fold::intervals::{IntervalStatus, WeightedInterval};
use crate::stats::npmle;
use crate::stats::npmle::{Estimate, Row};
use crate::stats::shares::Count;

/// The distinct rows of a group, and what each replicate adds to their weights.
pub(super) struct Cloud {
    /// In order, of no weight.
    rows: Vec<Row>,
    /// For each replicate: which rows, how many cuttings.
    replicates: Vec<Vec<(usize, f64)>>,
}

fn place(piece: &WeightedInterval) -> (u32, Option<u32>, IntervalStatus) {
    (piece.left, piece.right, piece.status)
}

fn row(&(left, right, status): &(u32, Option<u32>, IntervalStatus)) -> Row {
    let left = f64::from(left);
    match (right.map(f64::from), status) {
        (Some(right), IntervalStatus::Reached) => Row::reached(left, right, 0.0),
        (Some(right), IntervalStatus::Lost) => Row::lost(left, right, 0.0),
        _ => Row::not_yet(left, 0.0),
    }
}

impl Cloud {
    /// Of a group whose members' replicates are numbered from 0 to `replicates` − 1.
    pub(super) fn new(milestone: Milestone, members: &[Member], replicates: usize) -> Self {
        let mut places: Vec<_> = Vec::new();
        for member in members {
            places.extend(member.pieces(milestone).iter().map(place));
        }
        places.sort_unstable();
        places.dedup();
        let mut parts = vec![Vec::new(); replicates];
        for member in members {
            for piece in member.pieces(milestone) {
                if let Ok(at) = places.binary_search(&place(piece)) {
                    parts[member.replicate].push((at, piece.weight));
                }
            }
        }
        Self {
            rows: places.iter().map(row).collect(),
            replicates: parts,
        }
    }

    /// The estimate of the group.
    pub(super) fn whole(&self) -> Option<Estimate> {
        npmle::estimate(&self.weighted(&vec![1; self.replicates.len()]))
    }

    /// The estimate with each replicate taken so many times, sought from that of the group.
    pub(super) fn estimate(&self, times: &[usize], near: &Estimate) -> Option<Estimate> {
        npmle::estimate_near(&self.weighted(times), near)
    }

    fn weighted(&self, times: &[usize]) -> Vec<Row> {
        let mut rows = self.rows.clone();
        for (part, &times) in self.replicates.iter().zip(times) {
            if times > 0 {
                for &(at, weight) in part {
                    rows[at].weight += weight * times as f64;
                }
            }
        }
        rows
    }

    /// Whether some cuttings were not followed to the day `tau`.
    pub(super) fn is_censored(&self, tau: f64) -> bool {
        let waiting = |row: &Row| row.event().is_none() && row.left < tau;
        self.rows.iter().any(waiting)
    }

    /// What each replicate reached, of how many cuttings.
    pub(super) fn counts(&self) -> Vec<Count> {
        let reached = |at: usize| self.rows[at].event() == Some(npmle::Outcome::Reached);
        let count = |part: &Vec<(usize, f64)>| Count {
            x: part
                .iter()
                .filter(|(at, _)| reached(*at))
                .map(|(_, w)| w)
                .sum(),
            n: part.iter().map(|(_, weight)| weight).sum(),
        };
        self.replicates.iter().map(count).collect()
    }
}
