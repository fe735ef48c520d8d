//! What a review is asked for. It answers nothing.

use crate::model::filter::Filter;
use chrono::NaiveDate;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct ReviewOptions {
    /// The season: the nursery's year of sticking.
    pub season: i32,
    /// As it stood at the end of this day.
    pub as_of: NaiveDate,
    /// The batches meant; its season is left aside.
    pub filter: Filter,
    /// Arrangements drawn for a comparison when there are too many to look at all.
    pub draws: usize,
    /// Seed of the drawing.
    pub seed: u64,
}

impl ReviewOptions {
    /// All of a season as it stood that day.
    #[must_use]
    pub fn new(season: i32, as_of: NaiveDate) -> Self {
        Self {
            season,
            as_of,
            filter: Filter::default(),
            draws: crate::stats::permute::DRAWS,
            seed: 1,
        }
    }
}
