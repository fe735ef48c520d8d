//! How much clusters differ beyond what the smaller clusters inside them make of it. It must not know what they are.

use super::correlation::{CorrelationPrior, variance_prior};
use super::shares::Count;

/// A cluster with smaller ones inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OuterCluster {
    /// How many of its units reached the event.
    pub count: Count,
    /// Sum of the squares of the sizes of the clusters inside.
    pub inner_squares: f64,
}

/// Where no group tells anything: units of one cluster are alike to 0.1 beyond what those inside share (our own rule).
const UNINFORMED: CorrelationPrior = CorrelationPrior {
    correlation: 0.1,
    df: 4.0,
};

/// The least and the most degrees of freedom that the prior is worth, as for clusters without others inside.
const DF: (f64, f64) = (2.0, 8.0);

/// Clusters that agree better than this part of what is expected count as if they agreed as well as that.
const LEAST_RATIO: f64 = 0.1;

/// So many rounds settle the correlation against the variance that it takes from p(1 − p).
const ROUNDS: usize = 20;

/// What one group of clusters shows: X = Σ(y − np)²/n with its expectation a·v + b·ρ′v + c·ρv, v = p(1 − p).
struct Shown {
    x: f64,
    share: f64,
    n: f64,
    df: f64,
    inner: f64,
    outer: f64,
    inner_size: f64,
    size: f64,
}

impl Shown {
    fn new(group: &[OuterCluster]) -> Option<Self> {
        let used = || group.iter().filter(|it| it.count.n > 0.0);
        let n: f64 = used().map(|it| it.count.n).sum();
        let share = used().map(|it| it.count.x).sum::<f64>() / n;
        let df = used().count() as f64 - 1.0;
        if !(df > 0.0 && share > 0.0 && share < 1.0) {
            return None;
        }
        let sum = |of: &dyn Fn(&OuterCluster) -> f64| used().map(of).sum::<f64>();
        Some(Self {
            x: sum(&|it| (it.count.x - it.count.n * share).powi(2) / it.count.n),
            share,
            n,
            df,
            inner: sum(&|it| (it.inner_squares / it.count.n - 1.0) * (1.0 - it.count.n / n)),
            outer: sum(&|it| (it.count.n - 1.0) * (1.0 - it.count.n / n)),
            inner_size: sum(&|it| it.inner_squares) / n,
            size: sum(&|it| it.count.n * it.count.n) / n,
        })
    }

    /// p(1 − p) without what the share's own variance takes from it.
    fn variance(&self, inside: f64, correlation: f64) -> f64 {
        let deff = 1.0 + (self.inner_size - 1.0) * inside + (self.size - 1.0) * correlation;
        let kept = (1.0 - deff / self.n).max(0.1);
        self.share * (1.0 - self.share) / kept
    }

    fn expected(&self, inside: f64, correlation: f64) -> f64 {
        self.df + inside * self.inner + correlation * self.outer
    }
}

/// The correlation of units of one cluster beyond what the clusters inside share, `inside`: by moments over all groups,
/// each with a share of its own, drawn towards what is taken where nothing tells. What it is worth is Smyth's (2004)
/// estimate, as for [`CorrelationPrior::of_groups`].
#[must_use]
pub fn outer_prior(groups: &[Vec<OuterCluster>], inside: f64) -> CorrelationPrior {
    let shown: Vec<Shown> = groups.iter().filter_map(|it| Shown::new(it)).collect();
    let df: f64 = shown.iter().map(|it| it.df).sum();
    let mut correlation = UNINFORMED.correlation;
    for _ in 0..ROUNDS {
        let (mut above, mut below) = (0.0, 0.0);
        for it in &shown {
            let v = it.variance(inside, correlation);
            above += it.x - v * (it.df + inside * it.inner);
            below += v * it.outer;
        }
        let own = (below > 0.0).then(|| (above / below).clamp(0.0, 1.0));
        correlation = UNINFORMED.pooled(own, df);
    }
    let ratio = |it: &Shown| {
        let v = it.variance(inside, correlation);
        let ratio = it.x / (v * it.expected(inside, correlation));
        (ratio.max(LEAST_RATIO), it.df)
    };
    let ratios: Vec<(f64, f64)> = shown.iter().map(ratio).collect();
    let df = variance_prior(&ratios).map_or(UNINFORMED.df, |prior| prior.df);
    CorrelationPrior {
        correlation,
        df: df.clamp(DF.0, DF.1),
    }
}
