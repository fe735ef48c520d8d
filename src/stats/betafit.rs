//! Maximum-likelihood fit of the beta-binomial to counts of clusters. It must not test hypotheses.

use super::betabin::{BetaBinomial, log_choose};

/// One cluster: `reached` of `of`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cluster {
    /// How many reached; at most `of`.
    pub reached: u32,
    /// Out of how many.
    pub of: u32,
}

/// A fitted beta-binomial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// The estimate. ρ is 0 when the spread is no more than binomial, when every cluster holds one
    /// cutting, or when all or none reached.
    pub at: BetaBinomial,
    /// Log-likelihood there, binomial coefficients included.
    pub log_likelihood: f64,
    /// Log-likelihood of one share for all and no correlation, binomial coefficients included.
    pub binomial_log_likelihood: f64,
    /// Clusters used: those with at least one cutting.
    pub clusters: usize,
    /// Cuttings in them.
    pub total: u64,
    /// Whether ρ lies at an end of its range, 0 or 1.
    pub at_boundary: bool,
}

/// Fits μ and ρ (0 ≤ ρ ≤ 1) by maximum likelihood: the profile over ρ is scanned, then its score is
/// brought to zero by bisection; for given ρ the likelihood is concave in μ and solved by guarded
/// Newton steps. Clusters of none are left out. None when nothing is left, or a cluster has more
/// reached than it holds.
#[must_use]
pub fn fit(clusters: &[Cluster]) -> Option<Fitted> {
    if clusters.iter().any(|c| c.reached > c.of) {
        return None;
    }
    let used: Vec<Cluster> = clusters.iter().copied().filter(|c| c.of > 0).collect();
    let total: u64 = used.iter().map(|c| u64::from(c.of)).sum();
    let reached: u64 = used.iter().map(|c| u64::from(c.reached)).sum();
    if total == 0 {
        return None;
    }
    let share = reached as f64 / total as f64;
    let tails = Tails::new(&used);
    let one_sided = reached == 0 || reached == total;
    let (mu, rho) = if one_sided || tails.whole.len() < 2 {
        (share, 0.0)
    } else {
        tails.maximise(share)
    };
    let constant: f64 = used.iter().map(|c| log_choose(c.of, c.reached)).sum();
    Some(Fitted {
        at: BetaBinomial::new(mu, rho).ok()?,
        log_likelihood: constant + tails.log_likelihood(mu, rho),
        binomial_log_likelihood: constant + tails.log_likelihood(share, 0.0),
        clusters: used.len(),
        total,
        at_boundary: rho == 0.0 || rho == 1.0,
    })
}

/// The maximum-likelihood ρ that several groups of clusters share, each with its own mean share: the
/// spread within groups, their differences left out. Profile likelihood as in [`fit`]; it falls short
/// of the true ρ where groups hold few clusters, as likelihoods of spread do. None when no group has
/// two clusters, one of them of two, with both outcomes.
#[must_use]
pub fn common_rho(groups: &[Vec<Cluster>]) -> Option<f64> {
    let informs = |group: &&Vec<Cluster>| {
        let reached: u32 = group.iter().map(|c| c.reached).sum();
        let of: u32 = group.iter().map(|c| c.of).sum();
        let filled = group.iter().filter(|c| c.of > 0).count();
        filled > 1 && of as usize > filled && reached > 0 && reached < of
    };
    let tails: Vec<(Tails, f64)> = groups
        .iter()
        .filter(informs)
        .map(|group| {
            let reached: u32 = group.iter().map(|c| c.reached).sum();
            let of: u32 = group.iter().map(|c| c.of).sum();
            (Tails::new(group), f64::from(reached) / f64::from(of))
        })
        .collect();
    if tails.is_empty() {
        return None;
    }
    if tails.iter().all(|(tails, _)| tails.mixed() == 0.0) {
        return Some(1.0);
    }
    let likelihood = |rho: f64| -> f64 {
        let one =
            |(tails, share): &(Tails, f64)| tails.log_likelihood(tails.best_mu(rho, *share), rho);
        tails.iter().map(one).sum()
    };
    let rising = |rho: f64| {
        let one = |(tails, share): &(Tails, f64)| tails.score_rho(tails.best_mu(rho, *share), rho);
        tails.iter().map(one).sum::<f64>() > 0.0
    };
    Some(highest(&likelihood, &rising).unwrap_or(0.0))
}

/// The ρ at which a profile likelihood is highest, by a scan and then bisection of its score; none if
/// it falls from 0 on.
fn highest(likelihood: &dyn Fn(f64) -> f64, rising: &dyn Fn(f64) -> bool) -> Option<f64> {
    let scale = scan();
    let (mut best, mut top) = (0, f64::NEG_INFINITY);
    for (place, &rho) in scale.iter().enumerate() {
        let here = likelihood(rho);
        if here > top {
            (best, top) = (place, here);
        }
    }
    let mut low = scale[best.saturating_sub(1)];
    let mut high = scale[(best + 1).min(scale.len() - 1)];
    if best == 0 && !rising(0.0) {
        return None;
    }
    while high - low > 1e-15 + 1e-13 * high {
        let middle = 0.5 * (low + high);
        if rising(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}

/// How many clusters have more than r reached, more than r not reached, more than r in all: the
/// likelihood needs nothing else (Smith 1983, algorithm AS 189).
struct Tails {
    yes: Vec<f64>,
    no: Vec<f64>,
    whole: Vec<f64>,
}

impl Tails {
    fn new(clusters: &[Cluster]) -> Self {
        let count = |of: fn(&Cluster) -> u32| {
            let longest = clusters.iter().map(of).max().unwrap_or(0) as usize;
            let mut more = vec![0.0; longest];
            for cluster in clusters {
                for place in &mut more[..of(cluster) as usize] {
                    *place += 1.0;
                }
            }
            more
        };
        Self {
            yes: count(|c| c.reached),
            no: count(|c| c.of - c.reached),
            whole: count(|c| c.of),
        }
    }

    /// The terms (count, share(1 − ρ) + rρ, r) of one rising product.
    fn terms(more: &[f64], share: f64, rho: f64) -> impl Iterator<Item = (f64, f64, f64)> + '_ {
        more.iter().enumerate().map(move |(r, &count)| {
            let r = r as f64;
            (count, share * (1.0 - rho) + r * rho, r)
        })
    }

    fn log_likelihood(&self, mu: f64, rho: f64) -> f64 {
        let sum = |more: &[f64], share: f64| {
            let logs = Self::terms(more, share, rho).skip(1);
            logs.map(|(count, value, _)| count * value.ln())
                .sum::<f64>()
        };
        let first = |more: &[f64], share: f64| match more.first() {
            Some(&count) if count > 0.0 => count * share.ln(),
            _ => 0.0,
        };
        // ln(1 − ρ) stands once in each first factor; what does not cancel counts mixed clusters.
        let mixed = self.mixed();
        let apart = if mixed > 0.0 {
            mixed * (-rho).ln_1p()
        } else {
            0.0
        };
        first(&self.yes, mu)
            + first(&self.no, 1.0 - mu)
            + apart
            + sum(&self.yes, mu)
            + sum(&self.no, 1.0 - mu)
            - sum(&self.whole, 1.0)
    }

    /// Clusters with some reached and some not.
    fn mixed(&self) -> f64 {
        let first = |more: &[f64]| more.first().copied().unwrap_or(0.0);
        first(&self.yes) + first(&self.no) - first(&self.whole)
    }

    /// The best μ for a given ρ below 1: the root of a decreasing score, Newton kept in a bracket.
    fn best_mu(&self, rho: f64, start: f64) -> f64 {
        let (mut low, mut high, mut mu) = (0.0f64, 1.0f64, start);
        for _ in 0..200 {
            let (mut score, mut slope) = (0.0, 0.0);
            for (count, value, _) in Self::terms(&self.yes, mu, rho) {
                score += count / value;
                slope += count / (value * value);
            }
            for (count, value, _) in Self::terms(&self.no, 1.0 - mu, rho) {
                score -= count / value;
                slope += count / (value * value);
            }
            if score > 0.0 {
                low = mu;
            } else {
                high = mu;
            }
            // Score and slope lack the factors (1 − ρ) and (1 − ρ)² of the chain rule.
            let newton = mu + score / (slope * (1.0 - rho));
            let next = if newton > low && newton < high {
                newton
            } else {
                0.5 * (low + high)
            };
            if (next - mu).abs() <= 1e-15 {
                return next;
            }
            mu = next;
        }
        mu
    }

    /// ∂ log-likelihood / ∂ρ; along the profile this is its derivative.
    fn score_rho(&self, mu: f64, rho: f64) -> f64 {
        let sum = |more: &[f64], share: f64| {
            let terms = Self::terms(more, share, rho);
            terms
                .map(|(n, value, r)| n * (r - share) / value)
                .sum::<f64>()
        };
        sum(&self.yes, mu) + sum(&self.no, 1.0 - mu) - sum(&self.whole, 1.0)
    }

    fn maximise(&self, share: f64) -> (f64, f64) {
        if self.mixed() == 0.0 {
            // Every cluster all or none: the likelihood rises all the way to ρ = 1.
            let all = self.yes.first().copied().unwrap_or(0.0);
            return (all / self.whole[0], 1.0);
        }
        let likelihood = |rho: f64| self.log_likelihood(self.best_mu(rho, share), rho);
        let rising = |rho: f64| self.score_rho(self.best_mu(rho, share), rho) > 0.0;
        let Some(rho) = highest(&likelihood, &rising) else {
            return (share, 0.0);
        };
        (self.best_mu(rho, share), rho)
    }
}

/// Values of ρ at which the profile is scanned: 0, then finely near 0 and out to just below 1.
fn scan() -> Vec<f64> {
    const STEPS: u32 = 48;
    let odds = |step: u32| 1e-5 * 1e10f64.powf(f64::from(step) / f64::from(STEPS));
    let mut scale = vec![0.0];
    scale.extend((0..=STEPS).map(|step| odds(step) / (1.0 + odds(step))));
    scale
}
