//! What the journal knows of how long a taxon takes at a wood stage, as days since sticking. It judges no batch.

use super::rules::FEWEST;
use crate::analysis::timeline::{TimelineGroup, TimelineOptions, timeline};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::model::listed::Wood;
use chrono::NaiveDate;
use std::collections::HashMap;

/// A day by which a share of those that reach a milestone had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ExpectedDay {
    /// Days since sticking, rounded up.
    pub age: u32,
    /// Of those that reach it, in per cent.
    pub percent: u32,
    /// The milestone: root or bottom.
    pub milestone: Milestone,
}

/// The history of a taxon at a wood stage.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct History {
    /// Of so many batches.
    pub batches: usize,
    /// The days of 10, 50 and 90 % of root, of 50 and 90 % of bottom, those that are known, by age.
    pub days: Vec<ExpectedDay>,
}

impl History {
    /// The day by which that share had.
    #[must_use]
    pub fn age(&self, milestone: Milestone, percent: u32) -> Option<u32> {
        let mut days = self.days.iter();
        days.find(|by| by.milestone == milestone && by.percent == percent)
            .map(|by| by.age)
    }
}

/// The histories of a book.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Histories {
    by_kind: HashMap<(String, Option<&'static str>), History>,
}

impl Histories {
    /// From what was entered for days up to and on `on`. It estimates a curve for each taxon and wood
    /// stage, which takes its time: ask off the input path.
    #[must_use]
    pub fn of(book: &Book, on: NaiveDate) -> Self {
        let options = TimelineOptions {
            about: Selection {
                as_of: Some(on),
                ..Selection::default()
            },
            by: vec![GroupKey::Wood],
            resamples: 0,
            ..TimelineOptions::default()
        };
        let Some(found) = timeline(book, &options, &mut |_, _| true) else {
            return Self::default();
        };
        let known = found
            .groups
            .iter()
            .filter(|group| group.size.replicates >= FEWEST);
        let by_kind = known.map(|group| {
            let taxon = book.taxa().resolve(&group.taxon).key();
            let wood = group.by.first().and_then(|(_, wood)| wood.as_deref());
            ((taxon, wood.and_then(word)), history(group))
        });
        Self {
            by_kind: by_kind.collect(),
        }
    }

    /// The history of a batch's taxon at its wood stage, if there is enough of one.
    #[must_use]
    pub fn get(&self, batch: &Batch) -> Option<&History> {
        let wood = batch.stick.wood.map(Wood::word);
        self.by_kind.get(&(batch.taxon.key(), wood))
    }
}

/// The wood stage's own word.
fn word(text: &str) -> Option<&'static str> {
    Wood::from_word(text).map(Wood::word)
}

/// Which days are taken: the milestone, the place among the quantiles, the share in per cent.
const TAKEN: [(Milestone, usize, u32); 5] = [
    (Milestone::Root, 0, 10),
    (Milestone::Root, 1, 50),
    (Milestone::Root, 2, 90),
    (Milestone::Bottom, 1, 50),
    (Milestone::Bottom, 2, 90),
];

fn history(group: &TimelineGroup) -> History {
    let day = |&(milestone, at, percent): &(Milestone, usize, u32)| {
        let days = group.figures(milestone).days.reached.0[at].value()?;
        Some(ExpectedDay {
            // Rounded up, and never negative: a day counts once it is over.
            age: days.at_or_by().ceil() as u32,
            percent,
            milestone,
        })
    };
    let mut days: Vec<ExpectedDay> = TAKEN.iter().filter_map(day).collect();
    days.sort_unstable();
    History {
        batches: group.size.batches,
        days,
    }
}
