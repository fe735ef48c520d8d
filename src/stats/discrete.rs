//! A distribution over the counts 0..=n: chances, quantiles, sums of independent counts.
//! It must not know where the chances came from.

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

    /// Variance of the count.
    #[must_use]
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        let terms = self.0.iter().enumerate();
        terms
            .map(|(n, chance)| (n as f64 - mean).powi(2) * chance)
            .sum()
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

    /// The mixture that is `self` with chance `share` and `other` otherwise; `share` in 0..=1.
    #[must_use]
    pub fn mixed(&self, share: f64, other: &Self) -> Self {
        let most = self.most().max(other.most());
        let chance = |n| share * self.chance(n) + (1.0 - share) * other.chance(n);
        Self((0..=most).map(chance).collect())
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
