//! The timeline of a pool: for each group the same figures as a journal's, with nurseries as what varies. It words nothing.

use super::members::{Grouping, OwnGroup, closed_by_nursery, groups, outer};
use super::parts::UncountedPart;
use super::store::{GroupPlace, Pool, PoolPart, PoolSums, Stored};
use super::synonyms::{AskedTaxon, Synonym, SynonymConflict, Synonyms};
use crate::analysis::timeline::{
    Gathered, TimelineGroup, TimelineOptions, group_correlations, group_figures,
};
use crate::fold::batch::Milestone;
use crate::model::filter::GroupKey;
use crate::model::listed::Wood;
use crate::stats::correlation::{CorrelationPrior, SharePrior};
use crate::stats::nested::{OuterCluster, outer_prior};
use crate::stats::shares::Count;
use serde::Serialize;

/// What is asked of a pool.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PoolOptions {
    /// Only this taxon, genus, or part of a name.
    pub taxon: Option<String>,
    /// Only this wood stage.
    pub wood: Option<Wood>,
    /// Only this season.
    pub season: Option<i32>,
    /// By what groups are made beside the taxon; of those that are published.
    pub by: Vec<GroupKey>,
    /// Level, resamples and seed.
    pub figures: TimelineOptions,
}

impl PoolOptions {
    /// The keys that a stored group needs beside taxon, wood stage and season.
    #[must_use]
    pub fn stored_keys(&self) -> Vec<GroupKey> {
        let own = [GroupKey::Taxon, GroupKey::Wood, GroupKey::Season];
        let keys = self.by.iter().copied();
        keys.filter(|key| !own.contains(key)).collect()
    }
}

/// A group of a pool.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PooledGroup {
    /// The nurseries with batches in it.
    pub nurseries: usize,
    /// Its figures.
    #[serde(flatten)]
    pub figures: TimelineGroup,
}

/// The answer, with what it was made with and what was left out of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PooledTimeline {
    /// Confidence level.
    pub level: f64,
    /// Seed of the resampling.
    pub seed: u64,
    /// How many resamples.
    pub resamples: usize,
    /// How large the pool is.
    #[serde(flatten)]
    pub sums: PoolSums,
    /// How alike cuttings of one batch are within a nursery, by milestone.
    pub correlations: [CorrelationPrior; 3],
    /// How much more alike cuttings of one nursery are, by milestone; nothing in a pool of one.
    pub nursery_correlations: Option<[CorrelationPrior; 3]>,
    /// The groups, by taxon, then by their keys in the order asked for.
    pub groups: Vec<PooledGroup>,
    /// Names counted under another.
    pub synonyms: Vec<Synonym>,
    /// Names that nurseries take for different taxa.
    pub conflicts: Vec<SynonymConflict>,
    /// Parts that do not count.
    pub uncounted: Vec<UncountedPart>,
}

/// The timeline of what a pool holds, which is used up; `short` are parts that never became whole. `None` if `go_on` says no.
pub fn pooled_timeline(
    pool: Pool,
    short: Vec<UncountedPart>,
    options: &PoolOptions,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<PooledTimeline> {
    let worked = WorkedPool::new(pool, short, options);
    let figures = worked.figures(options, go_on)?;
    let nurseries = worked.groups.iter().map(|group| group.nurseries);
    let groups = nurseries.zip(figures);
    let groups = groups.map(|(nurseries, figures)| PooledGroup { nurseries, figures });
    Some(PooledTimeline {
        level: options.figures.level,
        seed: options.figures.seed,
        resamples: options.figures.resamples,
        sums: worked.sums,
        correlations: worked.correlations,
        nursery_correlations: worked.nursery_correlations,
        groups: groups.collect(),
        synonyms: worked.synonyms.used,
        conflicts: worked.synonyms.conflicts,
        uncounted: worked.uncounted,
    })
}

/// A pool made ready for its figures.
pub(super) struct WorkedPool {
    pool: Pool,
    pub sums: PoolSums,
    pub groups: Vec<OwnGroup>,
    pub priors: [SharePrior; 3],
    pub correlations: [CorrelationPrior; 3],
    pub nursery_correlations: Option<[CorrelationPrior; 3]>,
    pub synonyms: Synonyms,
    pub uncounted: Vec<UncountedPart>,
}

impl WorkedPool {
    pub(super) fn new(mut pool: Pool, short: Vec<UncountedPart>, options: &PoolOptions) -> Self {
        let mut uncounted = short;
        uncounted.extend(pool.take_out_uncounted());
        uncounted.sort();
        let sums = pool.sums();
        let synonyms = pool.synonyms();
        let parts = pool.parts_in_order();
        let (priors, correlations, nursery_correlations) = priors(&parts, &synonyms, &pool);
        let asked = options.taxon.as_deref().map(AskedTaxon::new);
        let admits = |key: &str, place: &GroupPlace, season: i32| {
            let wanted = |wood: Wood| place.wood.as_deref() == Some(wood.word());
            // By the name that it counts under, or that it was published under.
            let means = |asked: &AskedTaxon| {
                let mut keys = [key, &place.taxon].into_iter();
                keys.any(|key| asked.means(key, &pool.shown(key)))
            };
            options.season.is_none_or(|asked| asked == season)
                && options.wood.is_none_or(wanted)
                && asked.as_ref().is_none_or(means)
        };
        let grouping = Grouping {
            stored: &options.stored_keys(),
            by: &options.by,
            synonyms: &synonyms,
            admits: &admits,
        };
        let groups = groups(&parts, &grouping);
        Self {
            pool,
            sums,
            groups,
            priors,
            correlations,
            nursery_correlations,
            synonyms,
            uncounted,
        }
    }

    /// The figures of each group. `None` if `go_on` says no.
    pub(super) fn figures(
        &self,
        options: &PoolOptions,
        go_on: &mut dyn FnMut(usize, usize) -> bool,
    ) -> Option<Vec<TimelineGroup>> {
        let own = self.groups.iter();
        let gathered: Vec<Gathered> = own
            .map(|group| group.gathered(self.pool.shown(&group.taxon)))
            .collect();
        group_figures(&gathered, &self.priors, &options.figures, go_on)
    }
}

/// What all groups say of how alike cuttings are, whatever was asked about: as the ranges of shares take it, of batches,
/// and beyond that of nurseries.
fn priors(
    parts: &[PoolPart],
    synonyms: &Synonyms,
    pool: &Pool,
) -> (
    [SharePrior; 3],
    [CorrelationPrior; 3],
    Option<[CorrelationPrior; 3]>,
) {
    let mut cells = parts.iter().flat_map(|part| &part.cells);
    if cells.all(|(_, stored)| matches!(stored, Stored::Whole(_))) {
        let grouping = Grouping {
            stored: &[],
            by: &[GroupKey::Wood],
            synonyms,
            admits: &|_, _, _| true,
        };
        let own = groups(parts, &grouping);
        let gathered = own.iter().map(|it| it.gathered(pool.shown(&it.taxon)));
        let batches = group_correlations(&gathered.collect::<Vec<_>>());
        return (batches.map(SharePrior::of_replicates), batches, None);
    }
    let both = Milestone::ALL.map(|milestone| {
        let kinds = closed_by_nursery(parts, synonyms, milestone);
        let within: Vec<Vec<Count>> = kinds
            .values()
            .flat_map(|nurseries| nurseries.values().cloned())
            .collect();
        let batches = CorrelationPrior::of_groups(&within);
        let clusters: Vec<Vec<OuterCluster>> = kinds
            .values()
            .map(|nurseries| nurseries.values().map(|it| outer(it)).collect())
            .collect();
        (batches, outer_prior(&clusters, batches.correlation))
    });
    let share = both.map(|(batches, clusters)| SharePrior {
        clusters,
        inside: batches.correlation,
    });
    (
        share,
        both.map(|(batches, _)| batches),
        Some(both.map(|(_, nurseries)| nurseries)),
    )
}
