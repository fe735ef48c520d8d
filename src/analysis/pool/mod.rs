//! Many nurseries together: what they published, gathered into whole parts, and the same figures with *nursery* as a
//! level above the batch. One nursery alone gives what its own journal gives. It reads no file and words nothing.

mod cells;
mod compare;
mod compare_rows;
mod expect;
mod group;
mod members;
mod parts;
mod row;
mod store;
mod synonyms;
mod timeline;

pub use compare::{PairBasis, PooledComparison, PooledPair, pooled_comparison};
pub use compare_rows::{CompareRows, PoolCompareOptions};
pub use expect::{PooledExpectations, pooled_expectations};
pub use group::PoolGroup;
pub use parts::{PartCollector, RowContent, UncountedPart, WholePart, WhyUncounted};
pub use row::{
    PUBLISHED_KEYS, PersonalFacts, PooledAlias, PooledFacts, PooledInterval, PooledMeasures,
    PooledMilestone, RowStamp, part_name, row_check,
};
pub use store::Pool;
pub use synonyms::{Synonym, SynonymConflict};
pub use timeline::{PoolOptions, PooledTimeline, pooled_timeline};
