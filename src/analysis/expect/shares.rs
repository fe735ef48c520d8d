//! Shares of cuttings, pooled: a beta-binomial within groups, groups within groups. It knows nothing of days.
//!
//! A batch's share is beta-distributed around its group's mean with a correlation ρ that all groups have in common
//! (Crowder 1978, *Applied Statistics* 27:34); group means are pooled on the logit scale as in
//! [`crate::stats::pooling`]; ρ and the spreads are integrated over, none is fixed.

use super::groups::Groups;
use crate::stats::distributions::{inc_beta, ln_gamma};
use crate::stats::pooled::{OwnWord, Pooled};
use crate::stats::pooling::{Grid, PriorSettings, Spot, Spreads};
use crate::stats::workers;
use std::collections::HashMap;
use std::sync::LazyLock;

/// Correlations within batches that are tried; evenly likely beforehand, as they lie evenly in their logarithm.
pub(super) const RHO: [f64; 8] = [0.003, 0.01, 0.025, 0.05, 0.09, 0.15, 0.25, 0.4];
/// Logits of group means.
const MEANS: Grid = Grid {
    low: -5.0,
    step: 0.25,
    len: 41,
};
/// Logits of the shares of batches.
pub(super) const SHARES: Grid = Grid {
    low: -6.0,
    step: 0.1875,
    len: 65,
};
/// Spreads between groups that are tried, in logits.
const SPREADS: Spreads<'static> = Spreads {
    tried: &[0.1, 0.35, 0.8, 1.6],
    scale: 1.0,
};
/// Without any history a mean is anywhere: normal on the logit scale, near even on the share.
pub(super) const NO_HISTORY: (f64, f64) = (0.0, 1.7);

/// The share of a logit.
pub(super) fn share(logit: f64) -> f64 {
    1.0 / (1.0 + (-logit).exp())
}

/// The shares of their grid, with their logarithms and those of the rest: they are asked for all the time.
pub(super) static SHARE_LOGS: LazyLock<[(f64, f64, f64); SHARES.len]> = LazyLock::new(|| {
    std::array::from_fn(|at| {
        let share = share(SHARES.at(at));
        (share, share.ln(), (1.0 - share).ln())
    })
});

/// What is known of the share of one unit.
#[derive(Clone, Debug)]
pub(super) enum ShareEvidence {
    /// How many of how many, counted in the end.
    Counted(f64, f64),
    /// Log-likelihood on the grid of shares.
    Curve(Vec<f64>),
}

/// What no journal changes, made once.
#[derive(Debug)]
struct ShareTables {
    /// Chances of the grid's shares for each ρ and mean.
    chances: Vec<Vec<Vec<f64>>>,
    /// For each ρ and mean: α, β, and the logarithm of the beta function of both.
    betas: Vec<Vec<(f64, f64, f64)>>,
}

fn made() -> &'static ShareTables {
    static MADE: LazyLock<ShareTables> = LazyLock::new(|| ShareTables {
        chances: RHO.iter().map(|&rho| chances(rho)).collect(),
        betas: RHO.iter().map(|&rho| betas(rho)).collect(),
    });
    &MADE
}

/// For each mean the chances of the grid's shares; both grids are their own mirror images.
fn chances(rho: f64) -> Vec<Vec<f64>> {
    let mut all = vec![Vec::new(); MEANS.len];
    for at in 0..MEANS.len.div_ceil(2) {
        let cells = cells(share(MEANS.at(at)), rho);
        all[MEANS.len - 1 - at] = cells.iter().rev().copied().collect();
        all[at] = cells;
    }
    all
}

fn betas(rho: f64) -> Vec<(f64, f64, f64)> {
    let of = |mean: f64| {
        let (a, b) = alpha_beta(share(mean), rho);
        (a, b, ln_gamma(a) + ln_gamma(b) - ln_gamma(a + b))
    };
    MEANS.points().map(of).collect()
}

/// α and β of a beta distribution.
fn alpha_beta(mean: f64, rho: f64) -> (f64, f64) {
    let total = 1.0 / rho - 1.0;
    (mean * total, (1.0 - mean) * total)
}

/// Chances of the cells around the grid's shares.
fn cells(mean: f64, rho: f64) -> Vec<f64> {
    let (alpha, beta) = alpha_beta(mean, rho);
    let edge = |at: usize| share(SHARES.at(at) + 0.5 * SHARES.step);
    let mut below = 0.0;
    (0..SHARES.len)
        .map(|at| {
            let until = if at + 1 == SHARES.len {
                1.0
            } else {
                inc_beta(alpha, beta, edge(at))
            };
            let cell = (until - below).max(0.0);
            below = until;
            cell
        })
        .collect()
}

/// Shares, as learnt.
#[derive(Clone, Debug)]
pub(super) struct Shares {
    made: &'static ShareTables,
    /// Logits of group means; each correlation is a start.
    means: Pooled,
    /// What is said of a group's mean by units that show the same; by correlation, empty for one without weight.
    said: Vec<Vec<Vec<f64>>>,
    /// Which of these each unit says.
    words: Vec<usize>,
}

/// What a group is like: a mean share and a correlation, with its weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct GroupShare {
    pub weight: f64,
    pub mean: f64,
    pub rho: f64,
}

impl Shares {
    /// Learns from units, each with its leaf. `guess`: middle and spread of the mean's logit without history.
    pub fn learn(groups: &Groups, units: &[(usize, ShareEvidence)], guess: (f64, f64)) -> Self {
        let made = made();
        let (words, shown) = alike(units);
        let before = PriorSettings {
            starts: &[0.0; RHO.len()],
            row: RHO.len(),
            spreads: &SPREADS,
            root: &MEANS.normal(guess.0, guess.1),
        };
        let mut said = vec![Vec::new(); RHO.len()];
        let mut leaves = |rho: usize| {
            said[rho] = workers::map(shown.len(), |word| says(made, shown[word], rho));
            let mut sums = vec![vec![0.0; MEANS.len]; groups.len()];
            for ((leaf, _), &word) in units.iter().zip(&words) {
                let each = sums[*leaf].iter_mut().zip(&said[rho][word]);
                each.for_each(|(sum, log)| *sum += log);
            }
            sums
        };
        let means = Pooled::learn(&groups.tree, MEANS, &before, &mut leaves);
        for (rho, said) in said.iter_mut().enumerate() {
            if !means.has_weight(rho) {
                *said = Vec::new();
            }
        }
        Self {
            made,
            means,
            said,
            words,
        }
    }

    /// Chances of the grid's shares for a batch at a spot; `unit`: its own, if it was learnt from.
    pub fn prior(&self, spot: Spot, unit: Option<usize>) -> Vec<f64> {
        let mut sum = vec![0.0; SHARES.len];
        let word = unit.map(|unit| self.words[unit]);
        let mut own = word.map(|word| move |rho: usize| self.said[rho][word].clone());
        let own = own.as_mut().map(|own| own as OwnWord<'_>);
        for (rho, mean) in self.means.by_start(spot, own) {
            for (weight, cells) in mean.iter().zip(&self.made.chances[rho]) {
                if *weight > 1e-9 {
                    sum.iter_mut()
                        .zip(cells)
                        .for_each(|(s, c)| *s += weight * c);
                }
            }
        }
        sum
    }

    /// Mean and mean square of a batch's share at a spot.
    pub fn moments(&self, spot: Spot) -> (f64, f64) {
        let prior = self.prior(spot, None);
        let sum = |power: i32| -> f64 {
            let each = SHARES.points().zip(&prior);
            each.map(|(x, chance)| chance * share(x).powi(power)).sum()
        };
        let whole = sum(0).max(1e-12);
        (sum(1) / whole, sum(2) / whole)
    }

    /// What a group may be like: each mean and correlation with its weight, those of weight only.
    pub fn kinds(&self, spot: Spot) -> Vec<GroupShare> {
        let mut kinds = Vec::new();
        for (setting, rho, mean) in self.means.means(spot, None) {
            for (at, weight) in mean.iter().enumerate() {
                kinds.push(GroupShare {
                    weight: setting * weight,
                    mean: share(MEANS.at(at)),
                    rho: RHO[rho],
                });
            }
        }
        kinds.retain(|kind| kind.weight > 1e-7);
        kinds
    }
}

impl ShareEvidence {
    /// The likelihood of each share of the grid, at most 1.
    pub fn likelihood(&self) -> Vec<f64> {
        let logs: Vec<f64> = match self {
            Self::Counted(x, n) => {
                let rest = (n - x).max(0.0);
                let at = |(_, ln, ln_rest): &(f64, f64, f64)| x * ln + rest * ln_rest;
                SHARE_LOGS.iter().map(at).collect()
            }
            Self::Curve(logs) => logs.clone(),
        };
        crate::stats::pooling::weights(&logs)
    }
}

/// For each unit the number of what it shows, and what that is: many count as many of as many.
fn alike(units: &[(usize, ShareEvidence)]) -> (Vec<usize>, Vec<&ShareEvidence>) {
    let mut known: HashMap<(u64, u64), usize> = HashMap::new();
    let (mut words, mut shown) = (Vec::with_capacity(units.len()), Vec::new());
    for (_, evidence) in units {
        let next = shown.len();
        let word = match evidence {
            ShareEvidence::Counted(x, n) => {
                *known.entry((x.to_bits(), n.to_bits())).or_insert(next)
            }
            ShareEvidence::Curve(_) => next,
        };
        if word == next {
            shown.push(evidence);
        }
        words.push(word);
    }
    (words, shown)
}

/// What a unit says of its group's mean, under one correlation.
fn says(made: &ShareTables, known: &ShareEvidence, rho: usize) -> Vec<f64> {
    match known {
        ShareEvidence::Counted(_, n) if *n <= 0.0 => vec![0.0; MEANS.len],
        ShareEvidence::Counted(x, n) => {
            let rest = (n - x).max(0.0);
            let at = |&(alpha, beta, before): &(f64, f64, f64)| {
                ln_gamma(alpha + x) + ln_gamma(beta + rest)
                    - ln_gamma(alpha + beta + x + rest)
                    - before
            };
            made.betas[rho].iter().map(at).collect()
        }
        ShareEvidence::Curve(logs) => {
            let height = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let weights: Vec<f64> = logs.iter().map(|l| (l - height).exp()).collect();
            let at = |cells: &Vec<f64>| -> f64 {
                let sum: f64 = cells.iter().zip(&weights).map(|(c, w)| c * w).sum();
                height + sum.max(1e-280).ln()
            };
            made.chances[rho].iter().map(at).collect()
        }
    }
}
