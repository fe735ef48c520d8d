//! By what the batches of a journal can be told apart so that like meets like. It compares nothing.

use super::Options;
use super::confound::FACTS;
use super::gather::Table;
use super::seen::Seen;
use crate::fold::Book;
use crate::fold::selection::{IncludedBatch, Selection, select};
use crate::model::filter::GroupKey;
use std::collections::BTreeMap;

/// A way of telling batches apart, with two arms or more that meet within a taxon.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Split {
    /// The trial whose arms they are; none for a key.
    pub trial: Option<String>,
    /// What tells the arms apart.
    pub by: GroupKey,
    /// The arms, as a comparison orders them, each with its batches that meet another arm's.
    pub arms: Vec<(String, usize)>,
    /// Taxa within which arms meet.
    pub taxa: usize,
}

/// Keys by which batches are commonly told apart, the commonest questions first.
fn keys() -> impl Iterator<Item = GroupKey> {
    let first = [GroupKey::Wood, GroupKey::Season];
    let rest = FACTS.into_iter().filter(move |key| !first.contains(key));
    first.into_iter().chain(rest)
}

/// What can be compared among the batches meant: trials, the latest first, then by keys. Batches count as in
/// a comparison; whether they were followed for long enough shows there.
#[must_use]
pub fn splits(book: &Book, about: &Selection) -> Vec<Split> {
    let (counted, _) = select(book, about);
    let mut trials: BTreeMap<String, Vec<IncludedBatch>> = BTreeMap::new();
    let mut order = Vec::new();
    for it in counted.iter().rev() {
        let Some(name) = GroupKey::Trial.value_for(book, it.batch) else {
            continue;
        };
        let mine = trials.entry(name.clone()).or_default();
        if mine.is_empty() {
            order.push(name);
        }
        mine.push(it.clone());
    }
    let of_trials = order.into_iter().filter_map(|name| {
        let mine = seen(trials.remove(&name)?);
        split(book, &mine, Some(name), GroupKey::Arm)
    });
    let mut out: Vec<Split> = of_trials.collect();
    let all = seen(counted);
    out.extend(keys().filter_map(|key| split(book, &all, None, key)));
    out
}

fn seen(counted: Vec<IncludedBatch>) -> Seen {
    Seen {
        counted,
        skipped: Vec::new(),
        same_day: None,
    }
}

fn split(book: &Book, seen: &Seen, trial: Option<String>, by: GroupKey) -> Option<Split> {
    let options = Options {
        by: vec![by],
        ..Options::default()
    };
    let (arms, taxa) = Table::new(book, seen, &options).meeting();
    (arms.len() > 1).then_some(Split {
        trial,
        by,
        arms,
        taxa,
    })
}
