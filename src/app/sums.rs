//! Sums that cannot be: found before anything is written, each with the mends at hand; and what is odd once it is.

use super::desk::Desk;
use super::mends::Baseline;
use super::mends::{Mend, mends};
use super::prepared::PreparedTransaction;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::entry::{Entry, Kind};
use crate::model::fault::{BookFault, Fault, FaultKind};
use crate::model::id::Id;
use crate::text::dates::day_month;
use crate::text::faults;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// A sum that does not fit, with what mends it.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// The batch's code.
    pub batch: String,
    /// What does not fit.
    pub fault: BookFault,
    /// The day of the entry that says so, if it stands already: what is entered late leaves it too few.
    pub standing: Option<NaiveDate>,
    /// Whether more plants leave than were potted, or are ready.
    pub of_pots: bool,
    /// What makes it fit: more stuck than was entered, or fewer seen at a look that saw all there were.
    pub mend: Option<Mend>,
}

impl Misfit {
    /// What is wrong and why, one sentence a line.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let sentence = faults::sentence(&FaultKind::Book(self.fault.clone()));
        let mut lines = vec![format!("{}: {sentence}", self.batch)];
        if let Some(day) = self.standing {
            lines.push(format!("That is the entry of {}.", day_month(day)));
        } else if self.of_pots {
            lines.push(
                "Plants are potted, then saleable, then sold: enter what is missing first.".into(),
            );
        } else if self.counts_stage() {
            lines.push("Each cutting is counted once, at its most advanced stage.".into());
        }
        lines
    }

    fn counts_stage(&self) -> bool {
        let BookFault::MoreThanRemain { field, .. } = &self.fault else {
            return false;
        };
        ["callused", "rooted", "bottom"].contains(&field.as_str())
    }
}

impl Desk {
    /// What would not fit if these entries were saved; nothing if all fits.
    ///
    /// The batches touched are folded anew with the entries added, so that a late entry is judged
    /// by all that came after it too.
    #[must_use]
    pub fn misfits(&self, prepared: &PreparedTransaction) -> Vec<Misfit> {
        let to_be = prepared.entries();
        let family = self.family(to_be);
        let standing = Baseline::from_family(&family);
        let after = standing.brought(to_be);
        let mends = mends(&family, &standing, &after, prepared);
        let each = after.iter().zip(mends).map(|(it, mend)| Misfit {
            batch: it.code.clone(),
            fault: it.fault(),
            standing: it.standing,
            of_pots: it.of_pots,
            mend,
        });
        each.collect()
    }

    /// The batches of these identities, and those that entries of these ids are about.
    fn batches_of(&self, ids: &BTreeSet<&Id>) -> BTreeSet<&Id> {
        let mut keys = BTreeSet::new();
        let mut rest = ids.clone();
        rest.retain(|id| match self.book.batch(id) {
            Some(batch) => !keys.insert(&batch.key),
            None => true,
        });
        let found = self.book.batches_with(&rest);
        keys.extend(found.map(|batch| &batch.key));
        keys
    }

    /// The batches that entries touch, with those they were parted from and their parts.
    fn family(&self, entries: &[Entry]) -> Vec<&Batch> {
        let put_to = entries.iter().filter_map(|entry| match &entry.kind {
            Kind::Amend(amend) => amend.batch_set(),
            _ => None,
        });
        let put_to: Vec<Id> = put_to.collect();
        let named = entries.iter().filter_map(|entry| touched(&entry.kind));
        let found = self.batches_of(&named.chain(&put_to).collect());
        let mut rest: Vec<&Id> = found.into_iter().collect();
        let mut family: BTreeMap<&Id, &Batch> = BTreeMap::new();
        while let Some(key) = rest.pop() {
            let Some(batch) = self.book.batch(key) else {
                continue;
            };
            if family.insert(&batch.key, batch).is_none() {
                rest.extend(&batch.parent);
                // A part bears the id of the entry by which it left, and that is one of its parent's.
                rest.extend(batch.events.iter().map(|event| &event.entry.id));
            }
        }
        family.into_values().collect()
    }
}

/// What the entries of the journal together show as wrong or odd now and did not `before`.
#[must_use]
pub fn news(before: &Book, now: &Book) -> Vec<Fault> {
    // Lines that do not read come from elsewhere: what was just saved reads. Files may be numbered anew meanwhile.
    let of_entries = |fault: &Fault| matches!(fault.wrong, FaultKind::Book(_));
    let known = before.faults_beside(now);
    let known = known.iter().filter(|fault| of_entries(fault));
    let known: HashSet<(Option<&Id>, String)> = known.map(named_words).collect();
    let mut news = now.faults_beside(before);
    news.retain(|fault| of_entries(fault) && !known.contains(&named_words(fault)));
    news
}

/// The identity of what an entry changes: the batch that it is about, or the entry that it corrects.
fn touched(kind: &Kind) -> Option<&Id> {
    kind.batch_named()
        .and_then(|named| named.stick)
        .or_else(|| kind.target())
}

fn named_words(fault: &Fault) -> (Option<&Id>, String) {
    (fault.id.as_ref(), faults::sentence(&fault.wrong))
}
