//! What to expect of the next batch: at a nursery like those of the pool, or at one of them. It words nothing.

use super::members::{OwnGroup, RootedCount};
use super::parts::UncountedPart;
use super::store::{Pool, PoolSums};
use super::synonyms::{Synonym, SynonymConflict};
use super::timeline::{PoolOptions, WorkedPool};
use crate::analysis::timeline::{
    DayQuantiles, Figure, Missing, ReachedShare, TimelineGroup, by_key,
};
use crate::fold::batch::Milestone;
use crate::model::filter::GroupKey;
use crate::stats::correlation::SharePrior;
use crate::stats::counts::BetaBinomial;
use serde::Serialize;

/// What is expected of a batch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ExpectedBatch {
    /// The share that roots, on average, 0 to 1.
    pub share: f64,
    /// How alike cuttings of the batch are, with all that is not known of its mean: 0 to 1.
    pub correlation: f64,
    /// Cuttings rooted of those stuck: within these in half of such batches.
    pub p50: [usize; 2],
    /// In four of five.
    pub p80: [usize; 2],
}

/// A group's next batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PooledExpectation {
    /// The taxon.
    pub taxon: String,
    /// The other keys with their values.
    #[serde(serialize_with = "by_key")]
    pub by: Vec<(GroupKey, Option<String>)>,
    /// Nurseries that it is learnt from.
    pub nurseries: usize,
    /// Batches.
    pub batches: usize,
    /// At a nursery like these, or at the one asked for.
    pub next: Figure<ExpectedBatch>,
    /// Whether batches of the nursery asked for are among them.
    pub own: bool,
    /// Days by which parts of those that root have, as seen.
    pub days: DayQuantiles,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PooledExpectations {
    /// How large the pool is.
    #[serde(flatten)]
    pub sums: PoolSums,
    /// Cuttings in the next batch.
    pub cuttings: u32,
    /// The nursery whose next batch it is, if one was asked for.
    pub nursery: Option<String>,
    /// The groups, by taxon, then by their keys.
    pub expectations: Vec<PooledExpectation>,
    /// Names counted under another.
    pub synonyms: Vec<Synonym>,
    /// Names that nurseries take for different taxa.
    pub conflicts: Vec<SynonymConflict>,
    /// Parts that do not count.
    pub uncounted: Vec<UncountedPart>,
}

/// What a pool, which is used up, leads to expect of the next batch of so many cuttings. `None` if `go_on` says no.
pub fn pooled_expectations(
    pool: Pool,
    short: Vec<UncountedPart>,
    options: &PoolOptions,
    (cuttings, nursery): (u32, Option<&str>),
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<PooledExpectations> {
    let worked = WorkedPool::new(pool, short, options);
    let figures = worked.figures(options, go_on)?;
    let prior = &worked.priors[Milestone::Root as usize];
    let groups = worked.groups.iter().zip(figures);
    let one = |(group, figures): (&OwnGroup, TimelineGroup)| {
        let own = nursery.and_then(|name| group.rooted(Some(name)));
        let next = match figures.strike {
            Figure::Missing(why) => Figure::Missing(why),
            Figure::Value(share) => group
                .rooted(None)
                .and_then(|all| expected(&share, &all, own.as_ref(), prior, cuttings))
                .map_or(Figure::Missing(Missing::NoneClosed), Figure::Value),
        };
        PooledExpectation {
            nurseries: group.nurseries,
            batches: figures.size.batches,
            next,
            own: own.is_some(),
            days: figures.figures(Milestone::Root).days.reached,
            taxon: figures.taxon,
            by: figures.by,
        }
    };
    Some(PooledExpectations {
        sums: worked.sums,
        cuttings,
        nursery: nursery.map(str::to_owned),
        expectations: groups.map(one).collect(),
        synonyms: worked.synonyms.used,
        conflicts: worked.synonyms.conflicts,
        uncounted: worked.uncounted,
    })
}

/// The next batch: its share varies around the group's by how far nurseries differ, and batches within them, and by how
/// well the group's is known. Of a nursery with batches of its own the nursery's mean is drawn towards the group's by
/// how much each tells (best linear prediction: Robinson 1991, *Statistical Science* 6:15).
fn expected(
    share: &ReachedShare,
    all: &RootedCount,
    own: Option<&RootedCount>,
    prior: &SharePrior,
    cuttings: u32,
) -> Option<ExpectedBatch> {
    let of_mean = share.deff / all.counted[0];
    let (mut mean, mut between) = (share.value, share.correlation + of_mean);
    if let Some(own) = own.filter(|it| it.closed[1] > 0.0) {
        let batch = own.counted[1] / own.counted[0];
        let inside = 1.0 + (batch - 1.0).max(0.0) * prior.inside;
        let noise = inside / own.closed[1];
        let weight = between / (between + noise);
        mean += weight * (own.closed[0] / own.closed[1] - mean);
        between *= 1.0 - weight;
    }
    let correlation = (between + prior.inside).clamp(0.0, 1.0);
    // None and all are told of the batches seen: of the next neither is sure.
    let edge = 0.5 / (all.counted[0] + 1.0);
    let counts = BetaBinomial::new(mean.clamp(edge, 1.0 - edge), correlation)
        .ok()?
        .counts(cuttings);
    let within = |part: f64| [0.5 - part / 2.0, 0.5 + part / 2.0].map(|at| counts.quantile(at));
    Some(ExpectedBatch {
        share: mean,
        correlation,
        p50: within(0.5),
        p80: within(0.8),
    })
}
