//! The likelihood of one batch's share and place by all that was seen of it. It pools nothing.
//!
//! A cutting will root, with chance π and at a day of distribution F, or is lost or cleared first, of a distribution G
//! (a mixture by the outcome in the end: Larson & Dinse 1985, *Applied Statistics* 34:201). Rooted in (L, R]: π ΔF. Lost in
//! (L, R]: (1 − π) ΔG. Waiting: π (1 − F) + (1 − π)(1 − G), F on the day root was last examined, G on that of the last look.

use super::days::Days;
use super::losses::Callus;
use super::losses::{Losses, NODES};
use super::observed::Observed;
use super::shares::{SHARE_LOGS, SHARES};
use crate::fold::intervals::IntervalStatus;

/// No chance is smaller than this.
const FLOOR: f64 = 1e-9;
/// Places less likely than this beforehand are passed over.
const REMOTE: f64 = 1e-7;
/// A forecast reaches to this day since sticking.
pub(super) const LAST: f64 = 365.0;

/// What the evidence is weighed with.
#[derive(Clone, Copy)]
pub(super) struct Scales<'a> {
    pub days: &'a Days,
    pub losses: &'a Losses,
    pub callus: Option<&'a Callus>,
}

/// Log-likelihood by place (outer, in ln days) and share (inner).
#[derive(Clone, Debug)]
pub(super) struct Evidence {
    /// The places that are not remote, by number, with their prior chance.
    pub places: Vec<(usize, f64)>,
    /// For each of these the log-likelihoods over the grid of shares.
    pub logs: Vec<Vec<f64>>,
}

/// One place's factors.
struct At {
    m: f64,
    /// Rooted by the last examination.
    rooted: f64,
    /// Cumulative hazard of loss by the last look.
    hazard: f64,
}

impl Evidence {
    /// Of a batch; `prior`: chances of its place.
    pub fn new(seen: &Observed, scales: Scales<'_>, prior: &[f64]) -> Self {
        let near = prior.iter().copied().enumerate();
        let places: Vec<(usize, f64)> = near.filter(|(_, p)| *p > REMOTE).collect();
        let logs = places.iter().map(|&(at, _)| {
            let m = scales.days.grid.at(at);
            let here = At {
                m,
                rooted: scales.days.by(f64::from(seen.examined), m),
                hazard: scales.losses.hazard(f64::from(seen.looked), m),
            };
            over_shares(seen, scales, &here)
        });
        Self {
            logs: logs.collect(),
            places,
        }
    }

    /// Log-likelihood of the share, the place weighed by its prior.
    pub fn of_share(&self) -> Vec<f64> {
        let cells = self.logs.iter().flatten().copied();
        let top = cells.fold(f64::NEG_INFINITY, f64::max);
        let mut sums = vec![0.0; SHARES.len];
        for ((_, prior), logs) in self.places.iter().zip(&self.logs) {
            sums.iter_mut()
                .zip(logs)
                .for_each(|(s, l)| *s += prior * (l - top).exp());
        }
        sums.into_iter()
            .map(|s| top + f64::max(s, 1e-280).ln())
            .collect()
    }
}

fn over_shares(seen: &Observed, scales: Scales<'_>, at: &At) -> Vec<f64> {
    let worth = seen.worth;
    let mut timed = 0.0;
    for piece in seen.of_status(IntervalStatus::Reached) {
        let Some(right) = piece.right else { continue };
        let by = |t: u32| scales.days.by(f64::from(t), at.m);
        timed += worth * piece.weight * (by(right) - by(piece.left)).max(FLOOR).ln();
    }
    // By node of the frailty: what the losses' days say, and the share alive of those that will not root.
    let frail = NODES.map(|(node, weight)| {
        let frail = scales.losses.frail(node);
        let alive = |t: f64| (-frail * scales.losses.hazard(t, at.m)).exp();
        let mut lost = f64::ln(weight);
        for piece in seen.of_status(IntervalStatus::Lost) {
            let Some(right) = piece.right else { continue };
            let chance = alive(f64::from(piece.left)) - alive(f64::from(right));
            lost += worth * piece.weight * chance.max(FLOOR).ln();
        }
        (lost, (-frail * at.hazard).exp())
    });
    let split = seen
        .split
        .filter(|split| split.age >= f64::from(seen.examined));
    let callus = scales.callus.zip(split).map(|(callus, split)| {
        let waits = callus.waits(scales.days, scales.losses, split.age, at.m);
        (waits, split, callus.dispersion)
    });
    let (reached, lost, waiting) = (
        worth * seen.reached,
        worth * seen.lost,
        worth * seen.waiting,
    );
    SHARE_LOGS
        .iter()
        .map(|&(pi, ln, ln_rest)| {
            let mut log = timed + reached * ln + lost * ln_rest;
            let each = frail.map(|(lost, alive)| {
                lost + waiting
                    * (pi * (1.0 - at.rooted) + (1.0 - pi) * alive)
                        .max(FLOOR)
                        .ln()
            });
            let top = each.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            log += top + each.iter().map(|e| (e - top).exp()).sum::<f64>().ln();
            if let Some((waits, split, dispersion)) = &callus {
                let q = waits.callused(pi);
                let told =
                    split.callused * q.ln() + (split.waiting - split.callused) * (1.0 - q).ln();
                log += told / dispersion;
            }
            log
        })
        .collect()
}

/// What becomes of those that wait, at one place; frailty at its middle.
pub(super) struct Waiting {
    /// Of those that root: by the last examination, and by the last day of the forecast among the rest.
    rooted: f64,
    in_time: f64,
    /// Of those that do not, alive at the last look.
    pub alive: f64,
    /// The callused and the bare: their part, and by how much the odds of rooting differ.
    kinds: [(f64, f64); 2],
}

impl Waiting {
    pub fn at(seen: &Observed, scales: Scales<'_>, m: f64) -> Self {
        let examined = f64::from(seen.examined);
        let rooted = scales.days.by(examined, m);
        let in_time = (scales.days.by(LAST, m) - rooted).max(0.0) / (1.0 - rooted).max(1e-9);
        let split = seen.split.filter(|split| split.age >= examined);
        let kinds = scales.callus.zip(split).map(|(callus, split)| {
            let waits = callus.waits(scales.days, scales.losses, split.age, m);
            let [callused, bare] = waits.odds().map(|odds| odds.powf(1.0 / callus.dispersion));
            let share = split.callused / split.waiting;
            [(share, callused), (1.0 - share, bare)]
        });
        Self {
            rooted,
            in_time: in_time.min(1.0),
            alive: (-scales.losses.hazard(f64::from(seen.looked), m)).exp(),
            kinds: kinds.unwrap_or([(1.0, 1.0), (0.0, 1.0)]),
        }
    }

    /// The chance that one of them roots in the end, in a batch of share `pi`.
    pub fn roots(&self, pi: f64) -> f64 {
        let never = ((1.0 - pi) * self.alive).max(1e-12);
        let odds = pi * (1.0 - self.rooted) / never;
        let each = self.kinds.iter();
        let chance = |odds: f64| self.in_time * odds / (1.0 + odds);
        each.map(|(part, ratio)| part * chance(odds * ratio)).sum()
    }
}
