//! How alike the units of one replicate are, pooled over groups, and ranges of shares that allow for it.
//! It must not know what was counted.

use super::clusters;
use super::clusters::Cluster;
use super::distributions::t_quantile;
use super::shares::{Count, Interval, wilson};
use serde::Serialize;
use statrs::function::gamma::digamma;

/// The intra-class correlation that groups of a kind have in common, before a group's own replicates are asked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CorrelationPrior {
    /// The correlation, 0 to 1: 0 where replicates differ by chance alone.
    pub correlation: f64,
    /// How many degrees of freedom it is worth.
    pub df: f64,
}

/// The least and the most degrees of freedom that a prior is worth (our own rule: with fewer a single replicate
/// has no range to speak of, with more a group that differs from the rest is not heard).
const DF: (f64, f64) = (2.0, 8.0);

/// Groups whose replicates agree better than this part of what is expected count as if they agreed as well as
/// that: a logarithm has no use for a variance of zero.
const LEAST_RATIO: f64 = 0.1;

impl CorrelationPrior {
    /// Where no group tells anything: cuttings of one tray are alike to 0.15 (common practice), worth 4 replicates
    /// more than one.
    pub const UNINFORMED: Self = Self {
        correlation: 0.15,
        df: 4.0,
    };

    /// Learnt from groups of replicates counted to the end. The correlation is that within all groups by analysis of
    /// variance, itself drawn towards [`Self::UNINFORMED`] by its degrees of freedom; what it is worth is Smyth's
    /// (2004) estimate from how much more the groups' own spreads differ than chance makes them.
    #[must_use]
    pub fn of_groups(groups: &[Vec<Count>]) -> Self {
        let groups: Vec<Vec<Cluster>> = groups.iter().filter_map(|g| telling(g)).collect();
        let Some(own) = clusters::within_groups(&groups) else {
            return Self::UNINFORMED;
        };
        let df: f64 = groups.iter().map(|group| group.len() as f64 - 1.0).sum();
        let pooled = Self::UNINFORMED.pooled(Some(own), df);
        let ratio = |group: &Vec<Cluster>| {
            let spread = clusters::spread(group)?;
            let expected = 1.0 + (mean_size(group) - 1.0) * pooled;
            let ratio = (spread.dispersion() / expected).max(LEAST_RATIO);
            Some((ratio, spread.df as f64))
        };
        let ratios: Vec<(f64, f64)> = groups.iter().filter_map(ratio).collect();
        let df = variance_prior(&ratios).map_or(Self::UNINFORMED.df, |prior| prior.df);
        Self {
            correlation: pooled,
            df: df.clamp(DF.0, DF.1),
        }
    }

    /// The correlation of a group with its `own` estimate on so many degrees of freedom, replicates less one; this
    /// prior's where it has none.
    #[must_use]
    pub fn pooled(&self, own: Option<f64>, df: f64) -> f64 {
        let pooled = own.map_or(self.correlation, |own| {
            (self.df * self.correlation + df * own) / (self.df + df)
        });
        pooled.clamp(0.0, 1.0)
    }
}

/// The replicates of a group as whole counts, where they can tell of a correlation: two at least, and neither all
/// nor none reached.
fn telling(group: &[Count]) -> Option<Vec<Cluster>> {
    let whole = |count: &Count| Cluster {
        reached: count.x.round() as u32,
        of: count.n.round() as u32,
    };
    let used: Vec<Cluster> = group.iter().map(whole).filter(|c| c.of > 0).collect();
    let reached: u32 = used.iter().map(|c| c.reached).sum();
    let all: u32 = used.iter().map(|c| c.of).sum();
    (used.len() > 1 && reached > 0 && reached < all).then_some(used)
}

/// n₀ of the analysis of variance: the mean size of replicates, less what their sizes differ.
fn mean_size(group: &[Cluster]) -> f64 {
    let all: f64 = group.iter().map(|c| f64::from(c.of)).sum();
    let squares: f64 = group.iter().map(|c| f64::from(c.of).powi(2)).sum();
    (all - squares / all) / (group.len() as f64 - 1.0)
}

/// A share whose range allows for replicates that differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CorrelatedShare {
    /// Confidence interval, within 0 to 1.
    pub interval: Interval,
    /// The intra-class correlation that it allows for.
    pub correlation: f64,
    /// The design effect: how many times the variance of as many units that share nothing.
    pub deff: f64,
}

/// The range of a share, `sizes` being the units counted in each replicate: Wilson's interval (1927) of n divided by
/// the design effect 1 + (ñ − 1)ρ, with t on d₀ + m − 1 degrees of freedom. ρ is pooled from `prior` and the
/// replicates' own, by `variance` of the share between them; a share of 0 or 1, and a single replicate, have none of
/// their own. `level` is e.g. 0.95.
#[must_use]
pub fn correlated_share(
    share: f64,
    sizes: &[f64],
    variance: f64,
    prior: &CorrelationPrior,
    level: f64,
) -> CorrelatedShare {
    let prior = SharePrior::of_replicates(*prior);
    clustered_share(share, sizes, 1.0, variance, &prior, level)
}

/// How alike units are before a group is asked: those of one cluster, and beyond that those of one cluster inside it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SharePrior {
    /// Of the clusters that vary by themselves: replicates, or in a pool nurseries.
    pub clusters: CorrelationPrior,
    /// How much more alike units of one cluster inside these are; 0 where there are none.
    pub inside: f64,
}

impl SharePrior {
    /// Replicates, with nothing inside them.
    #[must_use]
    pub fn of_replicates(clusters: CorrelationPrior) -> Self {
        Self {
            clusters,
            inside: 0.0,
        }
    }
}

/// As [`correlated_share`], of clusters that hold smaller ones: the design effect is 1 + (b̃ − 1)ρ′ + (ñ − 1)ρ, with ρ′
/// how much more alike units of one inner cluster are, and b̃ = Σb²/Σb of the inner clusters' sizes, `inner_size` (the
/// variance of a sum of correlated units, with two components).
#[must_use]
pub fn clustered_share(
    share: f64,
    sizes: &[f64],
    inner_size: f64,
    variance: f64,
    prior: &SharePrior,
    level: f64,
) -> CorrelatedShare {
    let n: f64 = sizes.iter().sum();
    let size = sizes.iter().map(|size| size * size).sum::<f64>() / n;
    let clusters = sizes.iter().filter(|size| **size > 0.0).count();
    let df = clusters.max(1) as f64 - 1.0;
    let inside = (inner_size - 1.0).max(0.0) * prior.inside;
    let binomial = share * (1.0 - share) / n;
    let tells = clusters > 1 && binomial > 0.0 && size > 1.0;
    // Clusters may agree better than chance would have it, but no better than to the unit.
    let own = tells.then(|| ((variance / binomial - 1.0 - inside) / (size - 1.0)).min(1.0));
    let correlation = prior.clusters.pooled(own, df);
    let deff = 1.0 + inside + (size - 1.0).max(0.0) * correlation;
    let z = t_quantile(0.5 + level / 2.0, prior.clusters.df + df);
    CorrelatedShare {
        interval: wilson(share * n / deff, n / deff, z),
        correlation,
        deff,
    }
}

// Variances of many small samples moderated by what they have in common. It knows no plant.

/// What the variances of many samples have in common.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VariancePrior {
    /// The variance that the samples scatter around, s₀².
    pub scale: f64,
    /// The degrees of freedom that it is worth, d₀; infinite where the samples differ no more than by chance.
    pub df: f64,
}

/// The prior of sample variances, each with its degrees of freedom, both above 0: Smyth 2004, *Statistical
/// Applications in Genetics and Molecular Biology* 3(1):3, section 6.2. `None` for fewer than two samples.
#[must_use]
pub fn variance_prior(samples: &[(f64, f64)]) -> Option<VariancePrior> {
    if samples.len() < 2 {
        return None;
    }
    let n = samples.len() as f64;
    let logs: Vec<f64> = samples
        .iter()
        .map(|(variance, df)| variance.ln() - digamma(df / 2.0) + (df / 2.0).ln())
        .collect();
    let mean = logs.iter().sum::<f64>() / n;
    let scatter: f64 = logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let chance = samples
        .iter()
        .map(|(_, df)| trigamma(df / 2.0))
        .sum::<f64>()
        / n;
    Some(if scatter > chance {
        let half = trigamma_inverse(scatter - chance);
        VariancePrior {
            scale: (mean + digamma(half) - half.ln()).exp(),
            df: 2.0 * half,
        }
    } else {
        VariancePrior {
            scale: mean.exp(),
            df: f64::INFINITY,
        }
    })
}

/// From this argument on the asymptotic series is exact to the last digits.
const SERIES_FROM: f64 = 12.0;

/// ψ′(x) for `x` > 0: recurrence and asymptotic series (Abramowitz & Stegun 1964, 6.4.6 and 6.4.12).
#[must_use]
pub fn trigamma(x: f64) -> f64 {
    let (mut x, mut sum) = (x, 0.0);
    while x < SERIES_FROM {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let square = 1.0 / (x * x);
    let series = 1.0 / 30.0 - square * (1.0 / 42.0 - square * (1.0 / 30.0 - square * 5.0 / 66.0));
    sum + 1.0 / x + 0.5 * square + square / x * (1.0 / 6.0 - square * series)
}

/// The x at which ψ′(x) is `y` > 0, by halving the logarithm's range: ψ′ falls all the way.
fn trigamma_inverse(y: f64) -> f64 {
    let (mut low, mut high) = (-18.0_f64, 18.0_f64);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if trigamma(middle.exp()) > y {
            low = middle;
        } else {
            high = middle;
        }
    }
    (0.5 * (low + high)).exp()
}
