//! DayForecast cuttings that will not root are lost: a life table over the closed batches. It knows no causes.
//!
//! Rates are constant within bins of the clock: deaths over cutting-days at risk among those that did not root in the
//! end (Holford 1980, *Biometrics* 36:299). The clock runs in days or in parts of the batch's time to root, whichever
//! has the greater likelihood. Clearing a tray ends the watch and is no death: it is one decision, not many. Batches
//! differ by a frailty of mean 1 whose variance is the excess of their deaths over Poisson (method of moments).

use super::days::Days;
use crate::fold::batch::Batch;
use crate::model::listed::DiscardReason;

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
