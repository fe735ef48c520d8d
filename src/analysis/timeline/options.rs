//! What a timeline is asked for. It answers nothing.

use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct TimelineOptions {
    /// The batches meant.
    pub about: Selection,
    /// By what they are grouped beside their taxon.
    pub by: Vec<GroupKey>,
    /// Confidence level, e.g. 0.95.
    pub level: f64,
    /// How many resamples give the ranges of days, 999 by custom; 0 leaves them out.
    pub resamples: usize,
    /// Seed of the resampling.
    pub seed: u64,
    /// Whether each curve's pointwise band is wanted.
    pub band: bool,
}

impl Default for TimelineOptions {
    fn default() -> Self {
        Self {
            about: Selection::default(),
            by: Vec::new(),
            level: 0.95,
            resamples: 999,
            seed: 1,
            band: false,
        }
    }
}
