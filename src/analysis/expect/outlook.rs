//! What becomes of a batch by its own evidence and all the others: its share and speed, and its count in the end. It
//! learns nothing.

use super::evidence::{Evidence, Waiting};
use super::model::{BatchState, Model};
use super::observed::Observed;
use super::shares::SHARE_LOGS;
use crate::stats::counts::BetaBinomial;
use crate::stats::counts::Discrete;

/// Bins of the chance that a waiting cutting roots.
const BINS: usize = 96;

/// A batch's place and share by all that is known: cells with their chances.
pub(super) struct Posterior {
    /// Places in ln days, with what becomes of those that wait.
    pub places: Vec<(f64, Waiting)>,
    /// Number of the place, share, chance.
    pub cells: Vec<(usize, f64, f64)>,
}

/// The posterior of a batch's share and place.
pub(super) fn posterior(
    evidence: &Evidence,
    shares: &[f64],
    model: &Model,
    seen: &Observed,
) -> Posterior {
    let (mut cells, mut places) = (Vec::new(), Vec::new());
    let all = evidence.logs.iter().flatten().copied();
    let top = all.fold(f64::NEG_INFINITY, f64::max);
    for (&(place, prior), logs) in evidence.places.iter().zip(&evidence.logs) {
        let m = model.days.grid.at(place);
        for (((pi, ..), log), share_prior) in SHARE_LOGS.iter().zip(logs).zip(shares) {
            let chance = prior * share_prior * (log - top).exp();
            cells.push((places.len(), *pi, chance));
        }
        places.push((m, Waiting::at(seen, model.scales(), m)));
    }
    let most = cells.iter().map(|c| c.2).fold(0.0, f64::max);
    cells.retain(|c| c.2 > 1e-7 * most);
    let whole: f64 = cells.iter().map(|c| c.2).sum();
    cells.iter_mut().for_each(|c| c.2 /= whole.max(1e-300));
    Posterior { places, cells }
}

/// What is foretold of a batch's count: what was counted stands, each of the others roots with a chance that differs
/// between cells of the posterior.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    /// Rooted for sure.
    pub certain: u32,
    /// Cuttings of which that is still open.
    pub open: u32,
    /// Chances that one of these roots, with their weights.
    pub chances: Vec<(f64, f64)>,
}

impl Outlook {
    /// The same where of those still open that share is kept from dying first.
    pub fn kept(mut self, share: f64) -> Self {
        self.chances.iter_mut().for_each(|(p, _)| *p *= share);
        self
    }

    /// The count in the end; those open share a fate with that correlation.
    pub fn count(&self, rho: f64) -> Discrete {
        let (certain, open) = (self.certain as usize, self.open);
        let mut weights = vec![0.0; certain + open as usize + 1];
        for &(p, weight) in &self.chances {
            if let Ok(model) = BetaBinomial::new(p, rho) {
                let counts = model.counts(open);
                let into = weights[certain..].iter_mut();
                into.zip(counts.chances())
                    .for_each(|(w, c)| *w += weight * c);
            }
        }
        Discrete::from_weights(weights).unwrap_or_else(|| Discrete::certain(certain))
    }
}

/// The outlook of a batch by its evidence and all the others.
pub(super) fn outlook(model: &Model, held: &BatchState) -> Outlook {
    let observed = &held.observed;
    let spot = model.groups.spot(&observed.taxon, observed.wood);
    let prior = model.day_prior(spot, observed.wood, held.unit, held.season);
    let evidence = Evidence::new(observed, model.scales(), &prior);
    let shares = model.share_prior(spot, held.unit, held.season);
    outlook_of(observed, &posterior(&evidence, &shares, model, observed))
}

/// The outlook under a posterior.
pub(super) fn outlook_of(seen: &Observed, posterior: &Posterior) -> Outlook {
    // Where only a part was seen, the rest is known no better than one waiting or rooted by the batch's share.
    let certain = (seen.reached * seen.worth).round();
    let waiting = seen.waiting * seen.worth;
    let unseen = (seen.reached + seen.waiting - certain - waiting).max(0.0);
    let open = (seen.reached + seen.waiting - certain).round().max(0.0);
    let mut bins = vec![0.0; BINS + 1];
    for &(place, pi, chance) in &posterior.cells {
        let (_, those) = &posterior.places[place];
        let any = pi / (pi + (1.0 - pi) * those.alive).max(1e-12);
        let whole = (waiting + unseen).max(1e-9);
        let mean = (waiting * those.roots(pi) + unseen * any) / whole;
        let place = mean.clamp(0.0, 1.0) * BINS as f64;
        let low = (place as usize).min(BINS - 1);
        bins[low] += chance * (low as f64 + 1.0 - place);
        bins[low + 1] += chance * (place - low as f64);
    }
    let chances = bins.into_iter().enumerate().filter(|(_, w)| *w > 1e-6);
    Outlook {
        certain: certain as u32,
        open: open as u32,
        chances: chances
            .map(|(at, w)| (at as f64 / BINS as f64, w))
            .collect(),
    }
}
