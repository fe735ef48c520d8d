//! The rows of several members, of which some are left out or taken more than once. It must not know what a member is.

use super::npmle::{Estimate, Mass, Reweighed, Row, by_place, reached_by};
use super::shares::jackknife_variance;

/// A member with so great a part of what is watched changes the curve by more than its slope tells (our own rule: standard
/// errors of tried groups come within a few parts in a hundred of those with each member left out in earnest).
const MUCH: f64 = 0.1;

/// So few members are each left out in earnest.
const FEW: usize = 5;

/// So many are left out at once, and before it is asked whether to go on.
const AT_ONCE: usize = 64;

/// What is less than this part of a standard error is not seen beside it.
const SEEN: f64 = 0.1;

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

    /// The curves with each of these members left out in turn, sought from the estimate of all and certified alike.
    #[must_use]
    pub fn without(&self, left_out: &[usize], near: &Estimate) -> Vec<Option<Vec<Mass>>> {
        let weights = |member: &usize| {
            let mut times = vec![1; self.members.len()];
            times[*member] = 0;
            self.weights(&times)
        };
        // The weights of all at once would be as many as members times rows.
        let some = left_out.chunks(AT_ONCE).flat_map(|some| {
            let weights: Vec<Vec<f64>> = some.iter().map(weights).collect();
            self.curves.curves(&weights, near)
        });
        some.collect()
    }

    /// The curves with each member taken so many times, for each of several draws, as by [`Reweighed::resample`].
    #[must_use]
    pub fn resample(&self, draws: &[Vec<usize>], near: &Estimate) -> Vec<Option<Vec<Mass>>> {
        let weights: Vec<Vec<f64>> = draws.iter().map(|times| self.weights(times)).collect();
        self.curves.resample(&weights, near)
    }

    /// The share reached by each of these days with each member left out in turn, by day, then member by member.
    ///
    /// Each of few, and any that holds much of what is watched on the first or the last days, is left out in earnest; the
    /// others to first order, by the slope of the `estimate` of all in each row's weight (Jaeckel 1972; Efron 1982, *The Jackknife, the
    /// Bootstrap and Other Resampling Plans*, chapter 6). `None` if `go_on` says no.
    pub fn left_out(
        &self,
        estimate: &Estimate,
        days: &[f64],
        go_on: &mut dyn FnMut() -> bool,
    ) -> Option<Vec<Vec<f64>>> {
        let mut shares = self.nearly_left_out(estimate, days);
        let last = shares.last().map_or(0.0, |last| jackknife_variance(last));
        for members in self.heavy(estimate, last.sqrt()).chunks(AT_ONCE) {
            if !go_on() {
                return None;
            }
            let rest = members.iter().zip(self.without(members, estimate));
            for (member, rest) in rest.filter_map(|(at, curve)| Some((at, curve?))) {
                for (shares, day) in shares.iter_mut().zip(days) {
                    shares[*member] = reached_by(&rest, *day);
                }
            }
        }
        Some(shares)
    }

    /// As [`Self::left_out`], all to first order.
    fn nearly_left_out(&self, estimate: &Estimate, days: &[f64]) -> Vec<Vec<f64>> {
        let weights = self.weights(&vec![1; self.members.len()]);
        let each = self.curves.slopes(&weights, estimate, days);
        let of_day = |(slopes, day): (Vec<f64>, &f64)| {
            let share = reached_by(&estimate.curve, *day);
            let without = |own: &Vec<(usize, f64)>| {
                let lost: f64 = own.iter().map(|(at, weight)| weight * slopes[*at]).sum();
                let weight: f64 = own.iter().map(|(_, weight)| weight).sum();
                // What remains weighs less, and so each of its cuttings more.
                share - lost * estimate.n / (estimate.n - weight)
            };
            self.members.iter().map(without).collect()
        };
        each.into_iter().zip(days).map(of_day).collect()
    }

    /// All members if they are few, else those that hold more than [`MUCH`] of what is watched on the first day of the curve, or on the last day from
    /// which on as much comes as would be seen beside an error of `spread`.
    fn heavy(&self, estimate: &Estimate, spread: f64) -> Vec<usize> {
        if self.members.len() <= FEW {
            return (0..self.members.len()).collect();
        }
        let mut rest = 0.0;
        let mut ends = estimate.curve.iter().rev();
        let last = ends.find(|mass| {
            rest += mass.mass;
            rest >= SEEN * spread
        });
        let mut found = vec![false; self.members.len()];
        for day in [estimate.curve.first(), last].into_iter().flatten() {
            let is_watched = |at: usize| match self.rows[at].event() {
                Some(_) => self.rows[at].right >= day.by,
                None => self.rows[at].left >= day.by,
            };
            let watched = |own: &Vec<(usize, f64)>| -> f64 {
                let each = own.iter().filter(|(at, _)| is_watched(*at));
                each.map(|(_, weight)| weight).sum()
            };
            let own: Vec<f64> = self.members.iter().map(watched).collect();
            let all: f64 = own.iter().sum();
            let each = found.iter_mut().zip(own);
            each.for_each(|(found, own)| *found |= own > MUCH * all);
        }
        (0..found.len()).filter(|&at| found[at]).collect()
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
