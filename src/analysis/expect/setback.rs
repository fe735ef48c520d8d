//! What befalls batches between a look and the end, beyond what their cuttings foretell: heat, drought, a stuck vent, a
//! clearance too soon. It learns one number from the journal's own closed batches.
//!
//! Those waiting share that fate, so their count is beta-binomial around the chance foretold, with a correlation of its own:
//! the posterior mean over a grid, an exponential prior, and the likelihood of what became of each closed batch as of the
//! middle of its looks, forecast by all the others (predictive checking by leaving one out: Gelfand, Dey & Chang 1992,
//! *Bayesian Statistics* 4:147).

use super::model::{BatchState, Model};
use super::outlook::{Outlook, outlook};
use crate::fold::batch::Batch;
use crate::fold::intervals::accounts;
use crate::stats::counts::BetaBinomial;

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
pub(super) fn learn(model: &Model, cases: &[Case<'_>]) -> f64 {
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
    let account = accounts(&[case.batch], Some(day)).into_iter().next()?;
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
