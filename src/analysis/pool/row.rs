//! What one nursery publishes for a pool: a row for each batch, and for each of its milestones and intervals, each with the
//! part that it belongs to. It reads and writes none.

use crate::fold::batch::Milestone;
use crate::fold::intervals::{IntervalStatus, WeightedInterval};
use crate::model::filter::GroupKey;
use crate::model::text::hex;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Facts by which published rows can be grouped; the others of [`GroupKey`] are not published.
pub const PUBLISHED_KEYS: [GroupKey; 8] = [
    GroupKey::Wood,
    GroupKey::Season,
    GroupKey::Week,
    GroupKey::Cover,
    GroupKey::Hormone,
    GroupKey::Medium,
    GroupKey::Cut,
    GroupKey::Piece,
];

/// What stands on every row of a batch. Absent is not recorded.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PooledFacts {
    /// The nursery's name in the pool.
    pub nursery: String,
    /// Its year of sticking.
    pub season: i32,
    /// The batch, numbered within the nursery by day of sticking.
    pub batch: u32,
    /// The plant's name as the nursery accepts it.
    pub taxon: String,
    /// The name as it was entered.
    pub taxon_written: String,
    /// Wood stage.
    pub wood: Option<String>,
    /// ISO week of sticking, `2026-W23`.
    pub week: String,
    /// What covered it.
    pub cover: Option<String>,
    /// Hormone with strength and carrier, `IBA 3000 ppm talc`; `none` is known to be untreated.
    pub hormone: Option<String>,
    /// What the cuttings stood in.
    pub medium: Option<String>,
    /// Where the cut was made.
    pub cut: Option<String>,
    /// Which piece of the shoot.
    pub piece: Option<String>,
}

impl PooledFacts {
    /// The value of a published key; none where it was not recorded.
    #[must_use]
    pub fn value(&self, key: GroupKey) -> Option<String> {
        match key {
            GroupKey::Taxon => Some(self.taxon.clone()),
            GroupKey::Wood => self.wood.clone(),
            GroupKey::Season => Some(self.season.to_string()),
            GroupKey::Week => Some(self.week.clone()),
            GroupKey::Cover => self.cover.clone(),
            GroupKey::Hormone => self.hormone.clone(),
            GroupKey::Medium => self.medium.clone(),
            GroupKey::Cut => self.cut.clone(),
            GroupKey::Piece => self.piece.clone(),
            GroupKey::Month
            | GroupKey::Place
            | GroupKey::Source
            | GroupKey::Trial
            | GroupKey::Arm => None,
        }
    }
}

/// What became of a batch, but for its intervals. In cuttings, unless said otherwise.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PooledMeasures {
    /// The batch.
    pub batch: u32,
    /// Its replicate: batches of one number share a fate.
    pub replicate: u32,
    /// Stuck.
    pub stuck: u32,
    /// Lost on the bench.
    pub lost: u32,
    /// Whether nothing remains on the bench.
    pub closed: bool,
    /// Days from sticking to the last look that the nursery took at anything.
    pub age: u32,
    /// Looks read from spoken guesses.
    pub guesses: u32,
    /// Looks at a part of the batch.
    pub sampled: u32,
    /// Discarded without a reason.
    pub unexplained: u32,
    /// Callus.
    pub callus: PooledMilestone,
    /// Roots.
    pub root: PooledMilestone,
    /// Roots at the bottom.
    pub bottom: PooledMilestone,
}

impl PooledMeasures {
    /// Of one milestone.
    #[must_use]
    pub fn milestone(&self, milestone: Milestone) -> &PooledMilestone {
        match milestone {
            Milestone::Callus => &self.callus,
            Milestone::Root => &self.root,
            Milestone::Bottom => &self.bottom,
        }
    }
}

/// A batch's count of one milestone, in cuttings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PooledMilestone {
    /// Whether it was ever examined.
    pub examined: bool,
    /// Ever reached it.
    pub reached: f64,
    /// Seen at the last examination, with those potted or lost.
    pub counted: f64,
    /// On the bench still without it.
    pub watched: f64,
    /// Whether some had it on the day of sticking.
    pub at_sticking: bool,
    /// Whether it was counted backwards.
    pub backwards: bool,
}

/// Some cuttings of one batch, of one fate for one milestone, in (`left`, `right`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PooledInterval {
    /// The batch.
    pub batch: u32,
    /// The milestone.
    pub milestone: Milestone,
    /// Days since sticking on which it had not come.
    pub left: u32,
    /// Days since sticking by which it had; absent only for not yet.
    pub right: Option<u32>,
    /// Their fate.
    pub status: IntervalStatus,
    /// How many cuttings.
    pub weight: f64,
}

impl PooledInterval {
    /// The same of whatever batch and milestone.
    pub(super) fn weighted(&self) -> WeightedInterval {
        WeightedInterval {
            left: self.left,
            right: self.right,
            weight: self.weight,
            status: self.status,
        }
    }
}

/// Another name for a taxon, as the nursery has it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct PooledAlias {
    /// The name that the nursery accepts.
    pub taxon: String,
    /// The other name.
    pub alias: String,
}

/// What a nursery may publish beside, if it asks for it in so many words.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct PersonalFacts {
    /// The day of sticking.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stuck_on: Option<NaiveDate>,
    /// The place's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// The note made at sticking.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Who stuck it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// To which part a row belongs: one nursery's rows of one season, published together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RowStamp<'a> {
    /// The part's name: [`part_name`] of its rows.
    pub part: &'a str,
    /// The nursery's name in the pool.
    pub nursery: &'a str,
    /// Its year of sticking.
    pub season: i32,
    /// The row's number in the part, from 1.
    pub at: u32,
    /// How many rows the part has.
    pub of: u32,
    /// [`row_check`] of the row.
    pub check: u32,
}

/// The CRC-32C of a row: of what it says before its stamp, by which its part is named, and of that with the stamp, by
/// which the line is known to be as it was written.
#[must_use]
pub fn row_check(row: &[u8]) -> u32 {
    crc32c::crc32c(row)
}

/// The name of the part that has rows of these checks, in order: the first 16 hex digits of the SHA-256 of the checks, so
/// that a part is known by what stands in it, however its rows are split over files or sorted in them.
#[must_use]
pub fn part_name(checks: impl Iterator<Item = u32>) -> String {
    let mut hash = Sha256::new();
    for check in checks {
        hash.update(check.to_be_bytes());
    }
    hex(&hash.finalize()[..8])
}
