//! The aggregate of one nursery's season in one group, as engines pass it on. Its lines may come in any order, and more
//! than once. It estimates nothing.

use super::row::{PooledInterval, PooledMeasures};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The batches of one part in one group, with their intervals.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PoolGroup {
    /// Version of the shape.
    pub aggregate: u32,
    /// The nursery.
    pub nursery: String,
    /// Its year of sticking.
    pub season: i32,
    /// The part that all its rows are of.
    pub part: String,
    /// Its number among the groups of the part, from 1.
    pub group: u32,
    /// How many groups the part has.
    pub groups: u32,
    /// The plant's name as the nursery accepts it.
    pub taxon: String,
    /// Wood stage.
    pub wood: Option<String>,
    /// The other keys asked for, with their values.
    pub by: BTreeMap<String, Option<String>>,
    /// Other names of the taxon, as the nursery has them.
    pub aliases: Vec<String>,
    /// Its batches.
    pub batches: Vec<PooledMeasures>,
    /// Their intervals.
    pub intervals: Vec<PooledInterval>,
}

impl PoolGroup {
    /// The version that is written and read.
    pub const VERSION: u32 = 1;

    /// The aggregate with its batches, and the intervals of each, in their own order.
    #[must_use]
    pub fn sorted(mut self) -> Self {
        self.batches.sort_by_key(|batch| batch.batch);
        self.intervals.sort_by(|a, b| {
            let order = |it: &PooledInterval| {
                (
                    it.batch,
                    it.milestone as usize,
                    it.status,
                    it.left,
                    it.right,
                )
            };
            order(a).cmp(&order(b)).then(a.weight.total_cmp(&b.weight))
        });
        self
    }
}
