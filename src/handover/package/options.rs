//! How a data package is made. It makes none.

use chrono::{DateTime, FixedOffset, NaiveDate};

/// How a package is made.
#[derive(Clone, Copy, Debug)]
pub struct PackageOptions {
    /// The day as of which open batches are told.
    pub today: NaiveDate,
    /// When it is made.
    pub made_at: DateTime<FixedOffset>,
    /// Whether texts that a spreadsheet would run bear a mark before them.
    pub spreadsheet_safe: bool,
    /// How many resamples give the ranges of days.
    pub resamples: usize,
    /// Seed of the resampling.
    pub seed: u64,
}
