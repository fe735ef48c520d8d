//! Which batches are one replicate: cuttings that share a fate and may not be counted as several
//! trials. It computes no figure.

use super::Book;
use super::batch::{Batch, forebears};
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::model::text::folded;
use chrono::NaiveDate;
use std::collections::HashMap;

/// What makes two batches one replicate.
#[derive(PartialEq, Eq, Hash)]
enum Bond {
    /// Of a trial: nothing but being parts of one batch.
    Own(Id),
    /// Outside a trial: one taxon, source, place and day of sticking.
    Bucket {
        taxon: String,
        source: Option<String>,
        place: Option<String>,
        day: NaiveDate,
    },
}

/// For each batch the position of the one that stands for its replicate: the first by day of
/// sticking, then by key.
///
/// Parts are one replicate with what they were split from; so are batches outside a trial of one
/// taxon, source, place (its spot aside) and day of sticking. What is not recorded compares as
/// equal: fewer replicates are claimed, not more.
#[must_use]
pub fn replicates(book: &Book, batches: &[&Batch]) -> Vec<usize> {
    let places: HashMap<&Id, usize> = batches.iter().map(|batch| &batch.key).zip(0..).collect();
    let bonds: Vec<Bond> = batches
        .iter()
        .map(|batch| bond(book, root(batch, batches, &places)))
        .collect();
    let mut order: Vec<usize> = (0..batches.len()).collect();
    order.sort_by_key(|&at| (batches[at].stuck_on, &batches[at].key));
    let mut first: HashMap<&Bond, usize> = HashMap::new();
    for at in order {
        first.entry(&bonds[at]).or_insert(at);
    }
    bonds
        .iter()
        .zip(0..)
        .map(|(bond, at)| first.get(bond).copied().unwrap_or(at))
        .collect()
}

/// The batch that a part goes back to; one whose parent is not there stands for itself.
fn root<'a>(batch: &'a Batch, batches: &[&'a Batch], places: &HashMap<&Id, usize>) -> &'a Batch {
    let found = |id: &Id| places.get(id).map(|&at| batches[at]);
    forebears(batch, batches.len(), found)
        .last()
        .unwrap_or(batch)
}

fn bond(book: &Book, batch: &Batch) -> Bond {
    if batch.stick.trial.is_some() {
        return Bond::Own(batch.key.clone());
    }
    let said = |key: GroupKey| Some(folded(&key.of_batch(book, batch)?));
    Bond::Bucket {
        taxon: batch.taxon.key(),
        source: said(GroupKey::Source),
        place: said(GroupKey::Place),
        day: batch.stuck_on,
    }
}
