//! The rows of several members, of which some are left out or taken more than once. It must not know what a member is.

use super::npmle::{Estimate, Reweighed, Row, by_place};

/// The distinct rows of all members, and what each member adds to their weights.
#[derive(Debug)]
pub struct MemberRows {
    rows: Vec<Row>,
    curves: Reweighed,
    members: Vec<Vec<(usize, f64)>>,
}

impl MemberRows {
    /// Of each member's own rows, weighted.
    #[must_use]
    pub fn new(members: &[Vec<Row>]) -> Self {
        let mut rows = members.concat();
        rows.sort_by(by_place);
        rows.dedup_by(|a, b| by_place(a, b).is_eq());
        let placed = |row: &Row| {
            let at = rows.binary_search_by(|it| by_place(it, row)).ok()?;
            Some((at, row.weight))
        };
        let own = |of: &Vec<Row>| of.iter().filter_map(placed).collect();
        Self {
            members: members.iter().map(own).collect(),
            curves: Reweighed::new(&rows),
            rows,
        }
    }

    /// The distinct rows in order; their weights mean nothing.
    #[must_use]
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// For each member: which rows, and their weights.
    #[must_use]
    pub fn members(&self) -> &[Vec<(usize, f64)>] {
        &self.members
    }

    /// The estimate of all members, each once.
    #[must_use]
    pub fn whole(&self) -> Option<Estimate> {
        let weights = self.weights(&vec![1; self.members.len()]);
        self.curves.estimate(&weights, None)
    }

    /// The estimate with each member taken so many times, sought from one of similar weights and certified alike.
    #[must_use]
    pub fn estimate_near(&self, times: &[usize], near: &Estimate) -> Option<Estimate> {
        self.curves.estimate(&self.weights(times), Some(near))
    }

    /// As [`Self::estimate_near`], but no closer than counts as certified.
    #[must_use]
    pub fn resample(&self, times: &[usize], near: &Estimate) -> Option<Estimate> {
        self.curves.resample(&self.weights(times), near)
    }

    fn weights(&self, times: &[usize]) -> Vec<f64> {
        let mut weights = vec![0.0; self.rows.len()];
        for (own, &times) in self.members.iter().zip(times) {
            if times > 0 {
                for &(at, weight) in own {
                    weights[at] += weight * times as f64;
                }
            }
        }
        weights
    }
}
