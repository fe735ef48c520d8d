//! What becomes of a batch by its own evidence and all the others: its share and speed, and its count in the end; and
//! what befalls batches on the way beyond what their cuttings foretell.

use super::evidence::{Evidence, Waiting};
use super::model::{BatchState, Model};
use super::observed::Observed;
use super::shares::SHARE_LOGS;
use crate::fold::batch::Batch;
use crate::fold::intervals::accounts;
use crate::stats::counts::{BetaBinomial, Discrete};

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
    /// The outlook if this share (0 to 1) of those still open escapes dying first.
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

// Those waiting share that fate, so their count is beta-binomial around the chance foretold, with a correlation of its own:
// the posterior mean over a grid, an exponential prior, and the likelihood of what became of each closed batch as of the
// middle of its looks, forecast by all the others (predictive checking by leaving one out: Gelfand, Dey & Chang 1992,
// *Bayesian Statistics* 4:147).

/// Correlations tried.
const TRIED: [f64; 8] = [0.0, 0.01, 0.025, 0.05, 0.09, 0.15, 0.25, 0.4];
/// Mean of the exponential prior.
const PRIOR: f64 = 0.08;
/// Batches asked at most, the latest first.
const MOST: usize = 80;

/// A closed batch whose end is known.
pub(super) struct Case<'a> {
    pub batch: &'a Batch,
    pub unit: Option<usize>,
    pub season: Option<usize>,
    pub reached: f64,
    pub stuck: u32,
}

/// The correlation of what befalls those waiting.
pub(super) fn learn_setback(model: &Model, cases: &[Case<'_>]) -> f64 {
    let told = cases.iter().rev().filter_map(|case| foretold(model, case));
    let told: Vec<(Outlook, u32)> = told.take(MOST).collect();
    let heights = TRIED.map(|rho| {
        let fits = told.iter().map(|(outlook, came)| {
            let each = outlook.chances.iter().map(|&(p, weight)| {
                let model = BetaBinomial::new(p, rho);
                model.map_or(0.0, |model| {
                    weight * model.counts(outlook.open).chance(*came as usize)
                })
            });
            each.sum::<f64>().max(1e-12).ln()
        });
        fits.sum::<f64>() - rho / PRIOR
    });
    let top = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // The values lie unevenly: each stands for the stretch around it.
    let width = |at: usize| {
        let low = if at == 0 { 0.0 } else { TRIED[at - 1] };
        TRIED.get(at + 1).copied().unwrap_or(0.5) - low
    };
    let weights: Vec<f64> = (0..TRIED.len())
        .map(|at| width(at) * (heights[at] - top).exp())
        .collect();
    let whole: f64 = weights.iter().sum();
    TRIED
        .iter()
        .zip(&weights)
        .map(|(rho, w)| rho * w / whole)
        .sum()
}

/// What was foretold of a closed batch as of the middle of its looks, and what came of those that waited.
fn foretold(model: &Model, case: &Case<'_>) -> Option<(Outlook, u32)> {
    let looks = &case.batch.inspections;
    let day = looks.get((looks.len() / 2).checked_sub(1)?)?.day;
    let account = accounts(&[case.batch], Some(day), 1).into_iter().next()?;
    if account.is_closed() || account.stuck != case.stuck {
        return None;
    }
    let held = BatchState {
        unit: case.unit,
        ..BatchState::new(case.batch, &account, day, case.season)
    };
    let outlook = outlook(model, &held);
    let came = (case.reached.round() as u32).checked_sub(outlook.certain)?;
    (outlook.open >= 4 && came <= outlook.open).then_some((outlook, came))
}
