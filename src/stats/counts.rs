//! Distributions over the counts 0..=n: any, and the beta-binomial, whose share varies between clusters.
//! It must not fit anything.

use super::limits::{OutOfRange, within};

/// Chances of the counts 0, 1, …, n; they sum to 1 within rounding.
#[derive(Debug, Clone, PartialEq)]
pub struct Discrete(Vec<f64>);

impl Discrete {
    /// From weights of the counts 0, 1, …, n, scaled to sum to 1. None when empty, when a weight is
    /// negative or not finite, or when all are 0.
    #[must_use]
    pub fn from_weights(mut weights: Vec<f64>) -> Option<Self> {
        let total: f64 = weights.iter().sum();
        let good = weights.iter().all(|w| *w >= 0.0) && total > 0.0 && total.is_finite();
        if !good {
            return None;
        }
        for weight in &mut weights {
            *weight /= total;
        }
        Some(Self(weights))
    }

    /// All chance on one count.
    #[must_use]
    pub fn certain(count: usize) -> Self {
        let mut chances = vec![0.0; count + 1];
        chances[count] = 1.0;
        Self(chances)
    }

    /// Chances of 0, 1, …, n.
    #[must_use]
    pub fn chances(&self) -> &[f64] {
        &self.0
    }

    /// The largest count, n.
    #[must_use]
    pub fn most(&self) -> usize {
        self.0.len() - 1
    }

    /// Chance of exactly `count`.
    #[must_use]
    pub fn chance(&self, count: usize) -> f64 {
        self.0.get(count).copied().unwrap_or(0.0)
    }

    /// Chance of at most `count`.
    #[must_use]
    pub fn at_most(&self, count: usize) -> f64 {
        let end = self.0.len().min(count.saturating_add(1));
        self.0[..end].iter().sum::<f64>().min(1.0)
    }

    /// Chance of at least `count`, summed from the far tail so that small chances keep their digits.
    #[must_use]
    pub fn at_least(&self, count: usize) -> f64 {
        let start = count.min(self.0.len());
        // The sum of nothing is minus zero.
        self.0[start..].iter().rev().sum::<f64>().min(1.0) + 0.0
    }

    /// The smallest count whose chance of at most it reaches `share` (within 1e-12), `share` in 0..=1.
    #[must_use]
    pub fn quantile(&self, share: f64) -> usize {
        let mut so_far = 0.0;
        for (count, chance) in self.0.iter().enumerate() {
            so_far += chance;
            if so_far >= share - 1e-12 {
                return count;
            }
        }
        self.most()
    }

    /// Mean count.
    #[must_use]
    pub fn mean(&self) -> f64 {
        let terms = self.0.iter().enumerate();
        terms.map(|(count, chance)| count as f64 * chance).sum()
    }

    /// The sum of two independent counts.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let mut sum = vec![0.0; self.0.len() + other.0.len() - 1];
        for (i, a) in self.0.iter().enumerate() {
            for (j, b) in other.0.iter().enumerate() {
                sum[i + j] += a * b;
            }
        }
        Self(sum)
    }

    /// The count that a number in 0..1 stands for, by inversion: for simulation.
    #[must_use]
    pub fn draw(&self, unit: f64) -> usize {
        let mut left = unit;
        for (count, chance) in self.0.iter().enumerate() {
            left -= chance;
            if left < 0.0 {
                return count;
            }
        }
        self.most()
    }
}

/// The beta-binomial distribution by its mean share and within-cluster correlation, both in 0..=1.
///
/// Written with μ, the mean share, and ρ, the correlation within a cluster: ρ = 1/(α + β + 1),
/// α = μ(1/ρ − 1). In this form ρ = 0 is the binomial and ρ = 1 is all or none, without a singular
/// point (Griffiths 1973, *Biometrics* 29:637; Smith 1983, algorithm AS 189, *Applied Statistics* 32:196).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BetaBinomial {
    mu: f64,
    rho: f64,
}

impl BetaBinomial {
    /// From the mean share `mu` and the correlation `rho`.
    ///
    /// # Errors
    /// Either outside 0 to 1.
    pub fn new(mu: f64, rho: f64) -> Result<Self, OutOfRange> {
        let mu = within("mean share", mu, 0.0, 1.0)?;
        let rho = within("correlation", rho, 0.0, 1.0)?;
        Ok(Self { mu, rho })
    }

    /// From the beta distribution's α and β, both above 0: also the prediction for new counts after
    /// x of m, with α = x + a, β = m − x + b for a prior of a and b.
    ///
    /// # Errors
    /// Either not above 0 or beyond 1e12.
    pub fn from_alpha_beta(alpha: f64, beta: f64) -> Result<Self, OutOfRange> {
        let alpha = within("alpha", alpha, f64::MIN_POSITIVE, 1e12)?;
        let beta = within("beta", beta, f64::MIN_POSITIVE, 1e12)?;
        Self::new(alpha / (alpha + beta), 1.0 / (alpha + beta + 1.0))
    }

    /// Mean share.
    #[must_use]
    pub fn mu(&self) -> f64 {
        self.mu
    }

    /// Correlation of two cuttings of one cluster.
    #[must_use]
    pub fn rho(&self) -> f64 {
        self.rho
    }

    /// α = μ(1/ρ − 1); infinite for the binomial.
    #[must_use]
    pub fn alpha(&self) -> f64 {
        self.mu * (1.0 / self.rho - 1.0)
    }

    /// Variance of the count in a cluster of `n`: nμ(1 − μ)(1 + (n − 1)ρ).
    #[must_use]
    pub fn variance(&self, n: u32) -> f64 {
        let n = f64::from(n);
        n * self.mu * (1.0 - self.mu) * (1.0 + (n - 1.0) * self.rho)
    }

    /// The distribution of the count in a cluster of `n`: each chance from its neighbour's, from the mean outwards.
    #[must_use]
    pub fn counts(&self, n: u32) -> Discrete {
        let most = n as usize;
        let mut weights = vec![0.0; most + 1];
        if self.rho >= 1.0 {
            (weights[0], weights[most]) = (1.0 - self.mu, self.mu);
            return Discrete::from_weights(weights).unwrap_or_else(|| Discrete::certain(0));
        }
        // How much likelier one more of `have` others is, before the binomial coefficient.
        let rise = |share: f64, have: usize| share * (1.0 - self.rho) + have as f64 * self.rho;
        let up = |y: usize| {
            let more = (most - y) as f64 * rise(self.mu, y);
            more / ((y + 1) as f64 * rise(1.0 - self.mu, most - y - 1))
        };
        let start = ((f64::from(n) * self.mu).round() as usize).min(most);
        weights[start] = 1.0;
        for y in start..most {
            weights[y + 1] = weights[y] * up(y);
        }
        for y in (0..start).rev() {
            weights[y] = weights[y + 1] / up(y);
        }
        Discrete::from_weights(weights).unwrap_or_else(|| Discrete::certain(0))
    }
}
