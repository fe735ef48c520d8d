//! By what day since sticking most of a kind's cuttings that reach a milestone are expected to have: the age from
//! which a batch is judged as it ended. It compares nothing.

use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::intervals::IntervalStatus;
use crate::fold::selection::{Selection, select};
use crate::model::listed::Wood;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What part of those that reach the milestone must have done so.
const MOST: f64 = 0.95;

/// Fewer closed batches of a kind than this do not tell how long it takes; its taxon then does (our own rule).
const FEWEST: usize = 2;

/// A taxon's key, and its wood stage; none for the taxon as a whole.
type KindKey = (String, Option<Option<Wood>>);

/// The expected days, learnt from closed batches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ClosingDays(BTreeMap<(KindKey, usize), u32>);

impl ClosingDays {
    /// Learns from all closed batches of the journal, entries after `as_of` not seen.
    #[must_use]
    pub fn learn(book: &Book, as_of: Option<NaiveDate>) -> Self {
        let question = Selection {
            as_of,
            ..Selection::default()
        };
        let (counted, _) = select(book, &question);
        let mut kinds: BTreeMap<KindKey, Vec<_>> = BTreeMap::new();
        for item in counted.iter().filter(|item| item.account.is_closed()) {
            for key in keys_of(item.batch) {
                kinds.entry(key).or_default().push(&item.account);
            }
        }
        let mut days = BTreeMap::new();
        for (key, accounts) in kinds.iter().filter(|(_, all)| all.len() >= FEWEST) {
            for milestone in Milestone::ALL {
                let pieces = accounts
                    .iter()
                    .flat_map(|account| &account.milestone(milestone).pieces);
                let reached = pieces.filter(|piece| piece.status == IntervalStatus::Reached);
                let ends = reached.filter_map(|piece| Some((piece.right?, piece.weight)));
                if let Some(day) = quantile(ends.collect()) {
                    days.insert((key.clone(), milestone as usize), day);
                }
            }
        }
        Self(days)
    }

    /// The day for a batch of that kind; none if too few of its like have ended.
    #[must_use]
    pub fn closing_day(&self, batch: &Batch, milestone: Milestone) -> Option<u32> {
        let keys = keys_of(batch).into_iter();
        let mut days = keys.map(|key| self.0.get(&(key, milestone as usize)));
        days.find_map(Option::<&u32>::copied)
    }
}

/// A batch's own kind, then its taxon.
fn keys_of(batch: &Batch) -> [KindKey; 2] {
    let taxon = batch.taxon.key();
    [(taxon.clone(), Some(batch.stick.wood)), (taxon, None)]
}

/// The day by which [`MOST`] of the weight has come.
fn quantile(mut ends: Vec<(u32, f64)>) -> Option<u32> {
    ends.sort_by_key(|&(day, _)| day);
    let whole: f64 = ends.iter().map(|&(_, weight)| weight).sum();
    let mut come = 0.0;
    let day = ends.iter().find(|&&(_, weight)| {
        come += weight;
        come >= MOST * whole - 1e-9
    });
    day.filter(|_| whole > 0.0).map(|&(day, _)| day)
}
