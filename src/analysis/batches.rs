//! What became of each batch, in one line: its standing, its outcome, its counts and its last look. It judges no method.

use crate::fold::batch::{Batch, BatchCounts};
use crate::model::composite::Lost;
use crate::model::id::Id;
use crate::model::listed::{Cover, Wood};
use chrono::NaiveDate;
use serde::Serialize;

/// What became of a batch as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BatchOutcome {
    /// Nothing is left, and less than half was potted or made ready for sale: less than pays (Luna 2009, Agriculture
    /// Handbook 730, chapter 9).
    Failed,
    /// Cuttings remain on the bench.
    Open,
    /// Nothing is left, and half or more was potted or made ready for sale.
    Potted,
    /// All its cuttings went into parts, which are batches of their own.
    Split,
}

impl BatchOutcome {
    fn new(batch: &Batch) -> Self {
        let counts = &batch.counts;
        let moved_on = counts.potted + counts.finished_on_bench;
        match counts.stuck {
            _ if batch.is_open() => Self::Open,
            0 => Self::Split,
            stuck if moved_on < stuck.div_ceil(2) => Self::Failed,
            _ => Self::Potted,
        }
    }

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Failed => "failed",
            Self::Open => "open",
            Self::Potted => "potted",
            Self::Split => "split",
        }
    }
}

/// Why a batch has no rooted share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NoRootedShare {
    /// No look examined roots, and none was potted.
    NotLookedAt,
    /// No cutting is its own: all went into parts.
    AllInParts,
}

/// How many rooted that are alive or were potted, so far.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RootedSoFar {
    /// Cuttings.
    pub count: Option<u32>,
    /// The same number as a share of those stuck, 0 to 1.
    pub share: Option<f64>,
    /// Why there is none.
    pub missing: Option<NoRootedShare>,
}

impl RootedSoFar {
    fn new(batch: &Batch) -> Self {
        let counts = &batch.counts;
        let off = counts.potted + counts.finished_on_bench;
        let [_, _, rooted, bottom] = counts.bench;
        let mut tallies = batch.inspections.iter().filter_map(|it| it.tally);
        let none = |why| Self {
            count: None,
            share: None,
            missing: Some(why),
        };
        if counts.stuck == 0 {
            return none(NoRootedShare::AllInParts);
        }
        if off == 0 && !tallies.any(|tally| tally.root.is_some()) {
            return none(NoRootedShare::NotLookedAt);
        }
        let count = rooted + bottom + off;
        Self {
            count: Some(count),
            share: Some(f64::from(count) / f64::from(counts.stuck)),
            missing: None,
        }
    }
}

/// A batch's counts, in cuttings; `ready` and `sold` in plants.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct SummaryCounts {
    /// Stuck.
    pub stuck: u32,
    /// On the bench: nothing yet.
    pub bare: u32,
    /// On the bench: callused.
    pub callused: u32,
    /// On the bench: rooted.
    pub rooted: u32,
    /// On the bench: with roots at the bottom.
    pub bottom: u32,
    /// Lost on the bench, by cause.
    pub lost: Lost,
    /// Discarded from the bench for other reasons.
    pub given_up: u32,
    /// Potted, ever.
    pub potted: u32,
    /// Lost or discarded in pots.
    pub lost_in_pots: u32,
    /// Ready for sale, ever.
    pub ready: u32,
    /// Sold, ever.
    pub sold: u32,
}

impl From<&BatchCounts> for SummaryCounts {
    fn from(counts: &BatchCounts) -> Self {
        let [bare, callused, rooted, bottom] = counts.bench;
        Self {
            stuck: counts.stuck,
            bare,
            callused,
            rooted,
            bottom,
            lost: counts.lost,
            given_up: counts.given_up,
            potted: counts.potted,
            lost_in_pots: counts.lost_in_pots,
            ready: counts.ready,
            sold: counts.sold,
        }
    }
}

/// A batch in one line.
#[derive(Clone, Debug, Serialize)]
pub struct BatchSummary<'a> {
    /// Its code.
    pub batch: &'a str,
    /// The id of its stick, or of the move that made the part.
    pub stick: &'a Id,
    /// The batch that it was split from.
    pub parent: Option<&'a Id>,
    /// The plant's name.
    pub taxon: String,
    /// The wood stage, if recorded.
    pub wood: Option<Wood>,
    /// The day of sticking.
    pub stuck_on: NaiveDate,
    /// Where it stands now.
    pub place: Option<&'a str>,
    /// What covers it now.
    pub cover: Option<Cover>,
    /// The trial it is part of.
    pub trial: Option<&'a str>,
    /// Its arm of the trial.
    pub arm: Option<&'a str>,
    /// Whether any cutting remains on the bench.
    pub open: bool,
    /// What became of it.
    pub outcome: BatchOutcome,
    /// Days since sticking; of a batch that is not open, up to its last entry.
    pub day: i64,
    /// The day of its last entry.
    pub last_entry: NaiveDate,
    /// The day on which it was last looked at, if ever.
    pub last_look: Option<NaiveDate>,
    /// The day on which to look again, if asked for.
    pub again_on: Option<NaiveDate>,
    /// Rooted so far.
    pub rooted: RootedSoFar,
    /// Lost on the bench by any cause.
    pub lost: u32,
    /// All its counts.
    pub counts: SummaryCounts,
}

impl<'a> BatchSummary<'a> {
    /// A batch as of a day.
    #[must_use]
    pub fn new(batch: &'a Batch, today: NaiveDate) -> Self {
        let last_entry = batch.last_day();
        // A closed batch's clock stands still at its last entry.
        let until = match batch.is_open() {
            true => today.max(last_entry),
            false => last_entry,
        };
        let mut looks = batch.inspections.iter().rev();
        Self {
            batch: &batch.code,
            stick: &batch.key,
            parent: batch.parent.as_ref(),
            taxon: batch.taxon.shown(),
            wood: batch.stick.wood,
            stuck_on: batch.stuck_on,
            place: batch.place.as_deref(),
            cover: batch.cover,
            trial: batch.stick.trial.as_deref(),
            arm: batch.stick.arm.as_deref(),
            open: batch.is_open(),
            outcome: BatchOutcome::new(batch),
            day: (until - batch.stuck_on).num_days(),
            last_entry,
            last_look: looks.find(|it| it.how.is_some()).map(|it| it.day),
            again_on: batch.again_on,
            rooted: RootedSoFar::new(batch),
            lost: batch.counts.lost.total(),
            counts: SummaryCounts::from(&batch.counts),
        }
    }
}
