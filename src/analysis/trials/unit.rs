//! What a batch, and a replicate of several, brings to a comparison at a horizon. It tests nothing.

use crate::fold::intervals::{IntervalStatus, MilestoneAccount, WeightedInterval};
use crate::stats::clusters::Cluster;
use crate::stats::days;
use crate::stats::npmle::{Mass, Row};
use crate::stats::permute::Replicate;
use crate::stats::shares::Count;

/// Slack in sums of cuttings.
const SLACK: f64 = 1e-9;

/// Cuttings followed to the horizon, and what became of them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Unit {
    /// Cuttings, less those taken away while waiting.
    pub n: f64,
    /// Those known to have reached the milestone by the horizon.
    pub x: f64,
    /// How many were examined at the last look, at most `n`: what a binomial interval may count.
    pub counted: f64,
    /// Days waited to the horizon, all added up.
    pub days: f64,
    /// Reached by the horizon, those in an interval across it by a straight line.
    pub reached: f64,
    /// Days waited by these.
    pub days_reached: f64,
}

impl Unit {
    /// A batch at the horizon `h`; none if nothing of it was followed so far.
    pub(super) fn of(account: &MilestoneAccount, stuck: u32, h: u32) -> Option<Self> {
        let n = f64::from(stuck) - account.not_followed_to(h);
        if n <= SLACK {
            return None;
        }
        let horizon = f64::from(h);
        let masses: Vec<Mass> = account.pieces.iter().filter_map(mass).collect();
        let saved = horizon - days::mean_days(&masses, horizon);
        let reached = days::reached_by(&masses, horizon);
        Some(Self {
            n,
            x: account.reached_by(h).min(n),
            counted: account.counted.min(n),
            days: n * horizon - saved,
            reached,
            days_reached: reached * horizon - saved,
        })
    }

    pub(super) fn add(&mut self, other: &Self) {
        self.n += other.n;
        self.x += other.x;
        self.counted += other.counted;
        self.days += other.days;
        self.reached += other.reached;
        self.days_reached += other.days_reached;
    }

    pub(super) fn share(&self) -> Count {
        Count {
            x: self.x,
            n: self.n,
        }
    }

    pub(super) fn strike(&self, arm: u8) -> Replicate {
        Replicate {
            arm,
            sum: self.x,
            weight: self.n,
        }
    }

    pub(super) fn waited(&self, arm: u8) -> Replicate {
        Replicate {
            arm,
            sum: self.days,
            weight: self.n,
        }
    }

    /// Whole cuttings, for tests that take nothing else.
    pub(super) fn rounded(&self) -> Cluster {
        let of = self.n.round() as u32;
        let reached = (self.x.round() as u32).min(of);
        Cluster { reached, of }
    }

    pub(super) fn is_fractional(&self) -> bool {
        let off = |value: f64| (value - value.round()).abs() > SLACK;
        off(self.n) || off(self.x)
    }
}

/// Cuttings that reached the milestone, as a mass that is not divided by their number.
fn mass(piece: &WeightedInterval) -> Option<Mass> {
    let by = piece
        .right
        .filter(|_| piece.status == IntervalStatus::Reached)?;
    Some(Mass {
        after: f64::from(piece.left),
        by: f64::from(by),
        mass: piece.weight,
    })
}

/// Whether the cuttings on the bench were followed to the horizon.
pub(super) fn is_followed(account: &MilestoneAccount, h: u32) -> bool {
    let short = account.not_followed_to(h);
    let waiting = account
        .pieces
        .iter()
        .filter(|piece| piece.status == IntervalStatus::NotYet && piece.left >= h);
    let long: f64 = waiting.map(|piece| piece.weight).sum();
    let watched = account.watched;
    // Cuttings taken away while they waited are not yet, too; they do not stand for those watched.
    watched <= SLACK || short + SLACK < watched || long + SLACK >= watched
}

/// The last day known of.
pub(super) fn last_day(account: &MilestoneAccount) -> u32 {
    let ends = account.pieces.iter().filter(|piece| piece.weight > 0.0);
    ends.map(|piece| piece.right.unwrap_or(piece.left))
        .max()
        .unwrap_or(0)
}

/// A piece as a row of an interval-censored estimate.
pub(super) fn row(piece: &WeightedInterval) -> Row {
    let (left, right) = (f64::from(piece.left), piece.right.map(f64::from));
    match (right, piece.status) {
        (Some(right), IntervalStatus::Reached) => Row::reached(left, right, piece.weight),
        (Some(right), IntervalStatus::Lost) => Row::lost(left, right, piece.weight),
        _ => Row::not_yet(left, piece.weight),
    }
}
