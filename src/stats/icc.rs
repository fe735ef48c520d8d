//! Spread between clusters without a likelihood: analysis of variance, χ², design effect.
//! It must not choose between estimates.

use super::betafit::Cluster;

/// Spread of shares between clusters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// One-way analysis-of-variance intra-class correlation for yes-or-no outcomes; may be negative.
    pub icc: f64,
    /// Pearson's χ² of one share for all clusters.
    pub chi2: f64,
    /// Its degrees of freedom, clusters − 1.
    pub df: usize,
    /// Clusters used: those with at least one cutting.
    pub clusters: usize,
    /// Cuttings in them.
    pub total: u64,
}

impl Spread {
    /// χ²/df: 1 for binomial spread.
    #[must_use]
    pub fn dispersion(&self) -> f64 {
        self.chi2 / self.df as f64
    }
}

/// The spread between clusters: ICC = (MSB − MSW)/(MSB + (n₀ − 1)MSW) with
/// n₀ = (N − Σn²/N)/(k − 1) (Fleiss 1981, *Statistical Methods for Rates and Proportions*;
/// Donner & Eliasziw 1991). None under two clusters, when no cluster holds two, or when all or none
/// reached.
#[must_use]
pub fn spread(clusters: &[Cluster]) -> Option<Spread> {
    let used: Vec<(f64, f64)> = clusters
        .iter()
        .filter(|c| c.of > 0 && c.reached <= c.of)
        .map(|c| (f64::from(c.reached), f64::from(c.of)))
        .collect();
    let k = used.len() as f64;
    let total: f64 = used.iter().map(|c| c.1).sum();
    let reached: f64 = used.iter().map(|c| c.0).sum();
    if k < 2.0 || total <= k || reached == 0.0 || reached == total {
        return None;
    }
    let share = reached / total;
    let between: f64 = used.iter().map(|(y, n)| (y - n * share).powi(2) / n).sum();
    let within: f64 = used.iter().map(|(y, n)| y * (n - y) / n).sum();
    let (msb, msw) = (between / (k - 1.0), within / (total - k));
    let squares: f64 = used.iter().map(|c| c.1 * c.1).sum();
    let n0 = (total - squares / total) / (k - 1.0);
    Some(Spread {
        icc: (msb - msw) / (msb + (n0 - 1.0) * msw),
        chi2: between / (share * (1.0 - share)),
        df: used.len() - 1,
        clusters: used.len(),
        total: total as u64,
    })
}

/// The same correlation within groups that each have a share of their own, by analysis of variance with
/// the groups taken off: sums of squares between clusters within groups, and within clusters, added up
/// over groups. It does not fall short where groups are small, as a likelihood does; it may be negative.
/// None when no group has two clusters, or nothing varies.
#[must_use]
pub fn within_groups(groups: &[Vec<Cluster>]) -> Option<f64> {
    let (mut between, mut within) = (0.0, 0.0);
    let (mut df_between, mut df_within, mut sizes) = (0.0, 0.0, 0.0);
    for group in groups {
        let used = || group.iter().filter(|c| c.of > 0 && c.reached <= c.of);
        let pairs: Vec<(f64, f64)> = used()
            .map(|c| (f64::from(c.reached), f64::from(c.of)))
            .collect();
        if pairs.len() < 2 {
            continue;
        }
        let total: f64 = pairs.iter().map(|c| c.1).sum();
        let share = pairs.iter().map(|c| c.0).sum::<f64>() / total;
        between += pairs
            .iter()
            .map(|(y, n)| (y - n * share).powi(2) / n)
            .sum::<f64>();
        within += pairs.iter().map(|(y, n)| y * (n - y) / n).sum::<f64>();
        df_between += pairs.len() as f64 - 1.0;
        df_within += total - pairs.len() as f64;
        sizes += total - pairs.iter().map(|c| c.1 * c.1).sum::<f64>() / total;
    }
    let (msb, msw) = (between / df_between, within / df_within);
    let rho = (msb - msw) / (msb + (sizes / df_between - 1.0) * msw);
    rho.is_finite().then_some(rho)
}

/// Design effect 1 + (ñ − 1)ρ of clusters of these sizes, with ñ = Σn²/Σn, the size of the cluster a
/// cutting finds itself in (Donner, Birkett & Buck 1981, *American Journal of Epidemiology* 114:906).
/// At least 1 for ρ ≥ 0; none when no cluster holds anything.
#[must_use]
pub fn design_effect(sizes: &[f64], rho: f64) -> Option<f64> {
    let total: f64 = sizes.iter().sum();
    let squares: f64 = sizes.iter().map(|n| n * n).sum();
    (total > 0.0).then(|| 1.0 + (squares / total - 1.0).max(0.0) * rho)
}
