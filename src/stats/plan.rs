//! How many to stick: chances of at least so many, and the fewest that reach an assurance.
//! It must not know the ladder from stuck to saleable; the caller gives the share.

use super::counts::BetaBinomial;
use super::counts::Discrete;

/// Chance that at least `wanted` of one cluster of `n` reach.
#[must_use]
pub fn at_least(model: BetaBinomial, n: u32, wanted: u32) -> f64 {
    model.counts(n).at_least(wanted as usize)
}

/// The count reached over independent clusters of these sizes, all of the same model: trays that
/// share a fate within but not between.
#[must_use]
pub fn over_clusters(model: BetaBinomial, sizes: &[u32]) -> Discrete {
    sizes.iter().fold(Discrete::certain(0), |sum, &size| {
        sum.plus(&model.counts(size))
    })
}

/// The fewest that do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fewest {
    /// How many.
    pub n: u32,
    /// The chance with that many.
    pub chance: f64,
}

/// The fewest in one cluster with P(at least `wanted` reach) ≥ `assurance`, looking no further than
/// `limit`. None when even `limit` falls short. The chance never falls as n grows, so halving finds it.
#[must_use]
pub fn fewest(model: BetaBinomial, wanted: u32, assurance: f64, limit: u32) -> Option<Fewest> {
    search(wanted, limit, assurance, |n| at_least(model, n, wanted))
}

/// As [`fewest`], stuck as full independent clusters of `cluster` and one part cluster for the rest.
/// None for clusters of none, or when `limit` falls short.
#[must_use]
pub fn fewest_in_clusters(
    model: BetaBinomial,
    cluster: u32,
    wanted: u32,
    assurance: f64,
    limit: u32,
) -> Option<Fewest> {
    if cluster == 0 {
        return None;
    }
    let whole = model.counts(cluster);
    let chance = |n: u32| {
        let mut sum = model.counts(n % cluster);
        for _ in 0..n / cluster {
            sum = sum.plus(&whole);
        }
        sum.at_least(wanted as usize)
    };
    search(wanted, limit, assurance, chance)
}

/// A chance that falls short of the assurance by no more than this does so by rounding alone.
const ROUNDING: f64 = 1e-12;

/// The fewest with a chance of at least `assurance`, from `wanted` up to `limit`, for a chance that never falls as
/// the number grows. None when even `limit` falls short.
pub fn search(
    wanted: u32,
    limit: u32,
    assurance: f64,
    chance: impl Fn(u32) -> f64,
) -> Option<Fewest> {
    if wanted > limit {
        return None;
    }
    let (mut short, mut enough) = (wanted, wanted.max(1));
    while chance(enough) < assurance - ROUNDING {
        if enough >= limit {
            return None;
        }
        short = enough + 1;
        enough = enough.saturating_mul(2).min(limit);
    }
    while short < enough {
        let middle = short + (enough - short) / 2;
        if chance(middle) < assurance - ROUNDING {
            short = middle + 1;
        } else {
            enough = middle;
        }
    }
    Some(Fewest {
        n: enough,
        chance: chance(enough),
    })
}
