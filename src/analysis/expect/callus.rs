//! What callus says of those that wait to root: evidence for the share, and of each cutting. It times nothing else.
//!
//! One that will root is callused by day a with the chance Φ((ln a − m − δ)/s), δ below 0 since callus comes first; one
//! that will not is so with κ times that. At a lift on day a, those not rooted are callused with chance
//! q = [π c + (1 − π) S κ C]/[π(1 − F) + (1 − π) S], with C callused and F rooted by a, S the share not yet dead of those that will
//! not root, and c = 1 − F less those not callused. δ, s and κ are those of the greatest binomial quasi-likelihood over the lifts of closed
//! batches; counts are worth less by the dispersion (Pearson's X² over its degrees of freedom; Wedderburn 1974,
//! *Biometrika* 61:439).

use super::days::Days;
use super::losses::Losses;
use super::observed::CallusTally;
use crate::stats::distributions::normal_cdf;

/// Fewer lifts than this teach nothing of callus.
const FEWEST: usize = 12;

/// A lift of a closed batch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lift {
    pub split: CallusTally,
    /// The batch's share in the end, kept off 0 and 1.
    pub share: f64,
    /// Its place in ln days.
    pub m: f64,
}

/// Callus, as learnt.
#[derive(Clone, Copy, Debug)]
pub(super) struct Callus {
    ahead: f64,
    spread: f64,
    idle: f64,
    /// By how much counts are worth less.
    pub dispersion: f64,
}

/// Chances on one day for those that wait.
#[derive(Clone, Copy, Debug)]
pub(super) struct Waits {
    /// Will root: callused already; not so.
    will: [f64; 2],
    /// Will not, and lives: callused; not so.
    never: [f64; 2],
}

impl Waits {
    /// The share of those waiting that are callused, in a batch of share `pi`.
    pub fn callused(&self, pi: f64) -> f64 {
        let of = |at: usize| pi * self.will[at] + (1.0 - pi) * self.never[at];
        (of(0) / (of(0) + of(1)).max(1e-12)).clamp(0.005, 0.995)
    }

    /// By how much being callused, or not, changes the odds of rooting of one that waits.
    pub fn odds(&self) -> [f64; 2] {
        let sum = |pair: [f64; 2]| (pair[0] + pair[1]).max(1e-12);
        [0, 1].map(|at| {
            let will = (self.will[at] / sum(self.will)).max(1e-4);
            will / (self.never[at] / sum(self.never)).max(1e-4)
        })
    }
}

impl Callus {
    /// The chances on day `t` in a batch at place `m`.
    pub fn waits(&self, days: &Days, losses: &Losses, t: f64, m: f64) -> Waits {
        let callused = normal_cdf((t.max(0.5).ln() - m - self.ahead) / self.spread);
        let waiting = 1.0 - days.by(t, m);
        let bare = (1.0 - callused).min(waiting);
        let alive = (-losses.hazard(t, m)).exp();
        Waits {
            will: [waiting - bare, bare],
            never: [
                alive * self.idle * callused,
                alive * (1.0 - self.idle * callused),
            ],
        }
    }

    /// Learns from the lifts of closed batches; none if they are too few.
    pub fn learn(lifts: &[Lift], days: &Days, losses: &Losses) -> Option<Self> {
        if lifts.len() < FEWEST {
            return None;
        }
        let mut best = (f64::NEG_INFINITY, None);
        for ahead in [-1.5, -1.25, -1.05, -0.9, -0.75, -0.6, -0.45, -0.3, -0.15] {
            for spread in [0.2, 0.35, 0.55] {
                let mut callus = Self {
                    ahead,
                    spread,
                    idle: 0.0,
                    dispersion: 1.0,
                };
                let waits: Vec<Waits> = lifts
                    .iter()
                    .map(|lift| {
                        Self {
                            idle: 1.0,
                            ..callus
                        }
                        .waits(days, losses, lift.split.age, lift.m)
                    })
                    .collect();
                for idle in [0.1, 0.25, 0.4, 0.55, 0.7, 0.85, 0.97] {
                    callus.idle = idle;
                    let height = fitted(lifts, &waits, idle).map(|(lift, q)| {
                        let CallusTally {
                            callused, waiting, ..
                        } = lift.split;
                        callused * q.ln() + (waiting - callused) * (1.0 - q).ln()
                    });
                    let height: f64 = height.sum();
                    if height > best.0 {
                        let dispersion = dispersion(lifts, &waits, idle);
                        best = (
                            height,
                            Some(Self {
                                dispersion,
                                ..callus
                            }),
                        );
                    }
                }
            }
        }
        best.1
    }
}

/// Each lift with the share of callused expected, from what is expected with κ = 1.
fn fitted<'a>(
    lifts: &'a [Lift],
    waits: &'a [Waits],
    idle: f64,
) -> impl Iterator<Item = (&'a Lift, f64)> {
    lifts.iter().zip(waits).map(move |(lift, waits)| {
        let [callused, bare] = waits.never;
        let never = [idle * callused, bare + (1.0 - idle) * callused];
        (lift, Waits { never, ..*waits }.callused(lift.share))
    })
}

fn dispersion(lifts: &[Lift], waits: &[Waits], idle: f64) -> f64 {
    let terms = fitted(lifts, waits, idle).map(|(lift, q)| {
        let CallusTally {
            callused, waiting, ..
        } = lift.split;
        (callused - waiting * q).powi(2) / (waiting * q * (1.0 - q))
    });
    let sum: f64 = terms.sum();
    (sum / (lifts.len() as f64 - 3.0).max(1.0)).max(1.0)
}
