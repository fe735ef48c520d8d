//! How a batch stands beside what is expected of others of its taxon and wood stage: early, as usual, late. It words
//! nothing.

use super::expect::Model;
use crate::fold::batch::Milestone;
use crate::fold::batch::{Batch, Inspection};
use crate::fold::intervals::accounts;
use serde::Serialize;

/// How a batch stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum UsualStanding {
    /// More have rooted than in all but one in ten such batches by that day.
    Early,
    /// Neither.
    Usual,
    /// Fewer have rooted than in all but one in ten.
    Late,
}

/// A batch beside what is expected of its kind.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BesideUsual {
    /// How it stands.
    pub standing: UsualStanding,
    /// Days since sticking at its last count.
    pub day: u32,
    /// The share of its cuttings seen rooted by then.
    pub rooted: f64,
    /// The share expected by that day.
    pub expected: f64,
    /// Other batches of its taxon and wood stage that were followed to their end.
    pub batches: u32,
}

/// Why a batch cannot be set beside others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NotComparable {
    /// Its roots were never examined.
    NotLifted,
    /// So many other batches of its kind were followed to their end, of so many needed.
    TooFew {
        /// Batches that there are.
        others: u32,
        /// Batches needed.
        needed: u32,
    },
}

/// The batch's rooted share on the day of its last count, beside what is expected of the next batch of its taxon, wood stage
/// and season, its own word left out.
///
/// # Errors
/// If its roots were never examined, or too few others tell.
pub fn beside_usual(model: &Model, batch: &Batch) -> Result<BesideUsual, NotComparable> {
    let counted = |look: &&Inspection| look.tally.is_some_and(|tally| tally.root.is_some());
    let look = batch.inspections.iter().rev().find(counted);
    let look = look.ok_or(NotComparable::NotLifted)?;
    let all = accounts(&[batch], None);
    let account = all.first().ok_or(NotComparable::NotLifted)?;
    let (others, needed) = (model.closed_others(batch), super::expect::FEWEST);
    if others < needed {
        return Err(NotComparable::TooFew { others, needed });
    }
    let n = account.stuck.max(1);
    let had = account
        .milestone(Milestone::Root)
        .reached_by(look.age)
        .min(f64::from(n));
    let (expected, chances) = model.rooted_by(batch, n, look.age);
    let had_count = had.round() as usize;
    let standing = match () {
        () if chances.at_most(had_count) <= 0.1 => UsualStanding::Late,
        () if chances.at_least(had_count) <= 0.1 => UsualStanding::Early,
        () => UsualStanding::Usual,
    };
    Ok(BesideUsual {
        standing,
        day: look.age,
        rooted: had / f64::from(n),
        expected,
        batches: others,
    })
}
