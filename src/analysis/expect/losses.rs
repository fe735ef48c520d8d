//! When cuttings that will not root are lost: a life table over the closed batches; and what callus says of those that
//! wait. It knows no causes.
//!
//! Rates are constant within bins of the clock: deaths over cutting-days at risk among those that did not root in the
//! end (Holford 1980, *Biometrics* 36:299). The clock runs in days or in parts of the batch's time to root, whichever
//! has the greater likelihood. Clearing a tray ends the watch and is no death: it is one decision, not many. Batches
//! differ by a frailty of mean 1 whose variance is the excess of their deaths over Poisson (method of moments).

use super::days::Days;
use super::observed::CallusTally;
use crate::fold::batch::Batch;
use crate::model::listed::DiscardReason;
use crate::stats::distributions::normal_cdf;
use crate::stats::sampled::evenly;
use crate::stats::workers;

/// Upper ends of the bins, in the clock's unit; the last bin is open.
const BINS: [f64; 7] = [0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0];
/// Without history: a death per two times to root, counted as half a death seen.
const NO_HISTORY: (f64, f64) = (0.5, 0.5);
/// Nodes and weights of five-point Gauss–Hermite quadrature for a standard normal (Abramowitz & Stegun, table 25.10,
/// nodes times √2, weights over √π).
pub(super) const NODES: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_7),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (0.0, 8.0 / 15.0),
    (1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (2.856_970_013_872_806, 0.011_257_411_327_720_7),
];
/// Frailty's variance without history, and the most that is believed.
const FRAILTY: (f64, f64) = (0.5, 3.0);

/// What the clock of losses counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Clock {
    Days,
    Rooting,
}

/// Deaths and time at risk of one closed batch, from look to look.
#[derive(Clone, Debug)]
pub(super) struct Watched {
    /// The batch's middle day of rooting.
    pub rooting: f64,
    /// From, until (days since sticking), deaths, at risk at the start.
    spans: Vec<(f64, f64, f64, f64)>,
}

impl Watched {
    /// Of a closed batch of which `reached` rooted.
    pub fn new(batch: &Batch, stuck: u32, reached: f64, rooting: f64) -> Self {
        let mut at_risk = (f64::from(stuck) - reached).max(0.0);
        let mut spans = Vec::new();
        let mut before = 0.0;
        for look in &batch.inspections {
            let until = f64::from(look.age.max(1));
            let of = |dies: bool| -> u32 {
                let each = look.discarded.iter();
                let these =
                    each.filter(|(why, _)| why.and_then(DiscardReason::cause).is_some() == dies);
                these.map(|(_, n)| n).sum()
            };
            let dead = f64::from(look.lost.total() + of(true)).min(at_risk);
            if until > before {
                spans.push((before, until, dead, at_risk));
                before = until;
            }
            at_risk = (at_risk - dead - f64::from(of(false))).max(0.0);
        }
        Self { rooting, spans }
    }

    /// The clock's unit in days.
    fn unit(&self, clock: Clock, typical: f64) -> f64 {
        match clock {
            Clock::Days => typical,
            Clock::Rooting => self.rooting,
        }
    }
}

/// The losses, as learnt.
#[derive(Clone, Debug)]
pub(super) struct Losses {
    clock: Clock,
    typical: f64,
    rates: [f64; BINS.len() + 1],
    /// Spread of the frailty's logarithm.
    spread: f64,
}

/// The part of `from`..`until` that lies in each bin.
fn in_bins(from: f64, until: f64) -> [f64; BINS.len() + 1] {
    let mut parts = [0.0; BINS.len() + 1];
    let mut low = 0.0;
    for (at, part) in parts.iter_mut().enumerate() {
        let high = BINS.get(at).copied().unwrap_or(f64::INFINITY);
        *part = (until.min(high) - from.max(low)).max(0.0);
        low = high;
    }
    parts
}

impl Losses {
    /// Learns from closed batches; `typical`: the middle day of rooting of all.
    pub fn learn(watched: &[Watched], typical: f64) -> Self {
        let tried = [Clock::Rooting, Clock::Days].map(|clock| Self::by(clock, watched, typical));
        let [(rooting, a), (days, b)] = tried;
        if b > a { days } else { rooting }
    }

    fn by(clock: Clock, watched: &[Watched], typical: f64) -> (Self, f64) {
        let (rate, worth) = NO_HISTORY;
        let mut deaths = [rate * worth; BINS.len() + 1];
        let mut risk = [worth; BINS.len() + 1];
        let mut units = 0.0;
        for batch in watched {
            let unit = batch.unit(clock, typical);
            for &(from, until, dead, at_risk) in &batch.spans {
                let parts = in_bins(from / unit, until / unit);
                let whole: f64 = parts.iter().sum();
                units += dead * unit.ln();
                for (at, part) in parts.iter().enumerate() {
                    deaths[at] += dead * part / whole.max(1e-9);
                    risk[at] += (at_risk - 0.5 * dead) * part;
                }
            }
        }
        let mut losses = Self {
            clock,
            typical,
            rates: std::array::from_fn(|at| deaths[at] / risk[at]),
            spread: 0.0,
        };
        let height: f64 = (0..deaths.len())
            .map(|at| deaths[at] * losses.rates[at].ln() - losses.rates[at] * risk[at])
            .sum();
        losses.spread = losses.frailty(watched);
        (losses, height - units)
    }

    /// Spread of the logarithm of a frailty whose variance is the excess of deaths over Poisson.
    fn frailty(&self, watched: &[Watched]) -> f64 {
        let (prior, most) = FRAILTY;
        // As if four deaths expected had been seen with the prior's excess.
        let (mut excess, mut scale) = (16.0 * prior, 16.0);
        for batch in watched {
            let (mut expected, mut dead) = (0.0, 0.0);
            for &(from, until, died, at_risk) in &batch.spans {
                let ln = batch.rooting.ln();
                expected +=
                    (at_risk - 0.5 * died) * (self.hazard(until, ln) - self.hazard(from, ln));
                dead += died;
            }
            excess += (dead - expected).powi(2) - expected;
            scale += expected * expected;
        }
        (1.0 + (excess / scale).clamp(0.0, most)).ln().sqrt()
    }

    /// Cumulative hazard by day `t` in a batch whose ln days of rooting are `m`, frailty aside.
    pub fn hazard(&self, t: f64, m: f64) -> f64 {
        let unit = match self.clock {
            Clock::Days => self.typical,
            Clock::Rooting => m.exp(),
        };
        let parts = in_bins(0.0, t / unit);
        parts
            .iter()
            .zip(&self.rates)
            .map(|(part, rate)| part * rate)
            .sum()
    }

    /// The mean square of the frailty, whose mean is 1.
    pub fn frailty_square(&self) -> f64 {
        (self.spread * self.spread).exp()
    }

    /// The frailty at a quadrature node.
    pub fn frail(&self, node: f64) -> f64 {
        (self.spread * node - 0.5 * self.spread * self.spread).exp()
    }
}

/// The middle day of rooting where the place is `m`.
pub(super) fn rooting(days: &Days, m: f64) -> f64 {
    days.quantile(0.5, m)
}

// One that will root is callused by day a with the chance Φ((ln a − m − δ)/s), δ below 0 since callus comes first; one
// that will not is so with κ times that. At a lift on day a, those not rooted are callused with chance
// q = [π c + (1 − π) S κ C]/[π(1 − F) + (1 − π) S], with C callused and F rooted by a, S the share not yet dead of those that will
// not root, and c = 1 − F less those not callused. δ, s and κ are those of the greatest binomial quasi-likelihood over the lifts of closed
// batches; counts are worth less by the dispersion (Pearson's X² over its degrees of freedom; Wedderburn 1974,
// *Biometrika* 61:439).

/// Fewer lifts than this teach nothing of callus.
const FEWEST: usize = 12;

/// So many lifts tell of callus as well as all do.
const ENOUGH: usize = 6_000;

/// Values tried of δ, s and κ.
const AHEAD: [f64; 9] = [-1.5, -1.25, -1.05, -0.9, -0.75, -0.6, -0.45, -0.3, -0.15];
const SPREADS: [f64; 3] = [0.2, 0.35, 0.55];
const IDLE: [f64; 7] = [0.1, 0.25, 0.4, 0.55, 0.7, 0.85, 0.97];

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
    /// The dispersion: how many times less the counts are worth than independent ones.
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
        let waiting = 1.0 - days.by(t, m);
        let alive = (-losses.hazard(t, m)).exp();
        self.of_waiting(t.max(0.5).ln() - m, (waiting, alive))
    }

    /// The chances by the ln of a day over the middle one, by how many of those that will root wait on it and how many
    /// of the others are alive.
    fn of_waiting(&self, late: f64, (waiting, alive): (f64, f64)) -> Waits {
        let callused = normal_cdf((late - self.ahead) / self.spread);
        let bare = (1.0 - callused).min(waiting);
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
        let lifts = &evenly(lifts.to_vec(), ENOUGH);
        let on_days = lifts.iter().map(|lift| {
            let (t, m) = (lift.split.age, lift.m);
            let alive = (-losses.hazard(t, m)).exp();
            (t.max(0.5).ln() - m, (1.0 - days.by(t, m), alive))
        });
        let on_days: Vec<(f64, (f64, f64))> = on_days.collect();
        let tried = AHEAD.len() * SPREADS.len();
        let found = workers::share_out(tried, &mut |_| true, |at, _| {
            let start = Self {
                ahead: AHEAD[at / SPREADS.len()],
                spread: SPREADS[at % SPREADS.len()],
                idle: 1.0,
                dispersion: 1.0,
            };
            let waits = on_days.iter();
            let waits: Vec<Waits> = waits
                .map(|&(late, those)| start.of_waiting(late, those))
                .collect();
            Some(start.best_idle(lifts, &waits))
        });
        let mut best = (f64::NEG_INFINITY, None);
        for (height, callus) in found.into_iter().flatten() {
            if height > best.0 {
                best = (height, callus);
            }
        }
        best.1
    }

    /// The likeliest κ under this δ and s, with its likelihood; `waits`: with κ = 1.
    fn best_idle(self, lifts: &[Lift], waits: &[Waits]) -> (f64, Option<Self>) {
        let mut best = (f64::NEG_INFINITY, None);
        for idle in IDLE {
            let height = fitted(lifts, waits, idle).map(|(lift, q)| {
                let CallusTally {
                    callused, waiting, ..
                } = lift.split;
                callused * q.ln() + (waiting - callused) * (1.0 - q).ln()
            });
            let height: f64 = height.sum();
            if height > best.0 {
                best = (height, Some(Self { idle, ..self }));
            }
        }
        let told = best.1.map(|callus| Self {
            dispersion: dispersion(lifts, waits, callus.idle),
            ..callus
        });
        (best.0, told)
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
