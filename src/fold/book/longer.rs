//! A book that a few entries lengthen: later than all others, they change the batches that they are about and nothing else.
//! It shares all else with the book before. Anything that could change more has the book made anew.

use super::{Book, ReadTotals, ShownNames};
use crate::fold::batch::Batch;
use crate::fold::climate::PackedPlace;
use crate::fold::lives::Kinship;
use crate::fold::outline::{Meaning, Named, NamesMet, OutlineRow, speaks};
use crate::fold::settle::{Standing, StatedEntry, follows, in_order};
use crate::model::id::Id;
use std::sync::{Arc, OnceLock};

/// More entries than this at once have the book made anew.
const MOST: usize = 1024;

impl Book {
    /// This book with what came since, `air` being the climate lines of both; nothing if it must be made anew.
    pub fn longer(
        &self,
        fresh: &[StatedEntry],
        air: &[PackedPlace],
        sums: ReadTotals,
    ) -> Option<Self> {
        if fresh.len() > MOST {
            return None;
        }
        let fresh = fresh.iter().map(|stated| Standing {
            entry: stated.entry.clone(),
            origin: stated.origin,
            amended: false,
        });
        let mut fresh: Vec<Standing> = fresh.collect();
        fresh.sort_by(in_order);
        let first = fresh.first();
        if first.is_some_and(|first| !follows(self.entries().last(), first)) {
            return None;
        }
        let mut named = NamesMet::default();
        for entry in self.speakers() {
            speaks(&entry.kind, entry.by.as_deref(), &mut named);
        }
        let more = fresh.into_iter().map(|standing| {
            let about = self.about(&standing, &mut named)?;
            Some((standing, about))
        });
        let more = more.collect::<Option<Vec<_>>>()?;
        Some(self.with(more, air, sums))
    }

    /// The batch that an entry is about, if any; nothing at all if the entry may change more than that batch.
    fn about(&self, standing: &Standing, named: &mut NamesMet) -> Option<Option<Kinship>> {
        let kind = standing.entry.kind();
        if speaks(&kind, standing.entry.by(), named) {
            return None;
        }
        let row = OutlineRow::new(standing, &kind);
        match (row.meaning, row.named) {
            (Meaning::Nothing, _) => Some(None),
            (Meaning::Takes(_), Named::Stick(bytes)) => {
                let key = Id::from_ulid(u128::from_be_bytes(bytes));
                let row = self.roster.row(&key)?;
                Some(Some(self.roster.rows()[row].kinship))
            }
            (Meaning::Takes(_), Named::Otherwise)
            | (Meaning::Begins { .. } | Meaning::Parts(_), _) => None,
        }
    }

    fn with(
        &self,
        more: Vec<(Standing, Option<Kinship>)>,
        air: &[PackedPlace],
        sums: ReadTotals,
    ) -> Self {
        let whole = self.air.whole.values().flatten().cloned().collect();
        let mut book = Self {
            lives: Arc::new(self.lives.with(more)),
            roster: Arc::clone(&self.roster),
            all: OnceLock::new(),
            few: self.few.iter().map(|_| OnceLock::new()).collect(),
            withdrawn: Arc::clone(&self.withdrawn),
            corrections: Arc::clone(&self.corrections),
            speakers: Arc::clone(&self.speakers),
            by_id: self.by_id.clone(),
            nursery: self.nursery.clone(),
            taxa: Arc::clone(&self.taxa),
            // Only what is stuck is spelled.
            spelling: self.spelling.clone(),
            found: self.found.clone(),
            sums,
            ..Self::default()
        };
        book.add_air(whole, air);
        if let Some(all) = self.all.get() {
            book.all = OnceLock::from(book.all_after(self, all));
        }
        book
    }

    /// All batches, those that nothing touched since another book had them taken from there.
    fn all_after(&self, before: &Self, all: &[Arc<Batch>]) -> Vec<Arc<Batch>> {
        let mut shown = ShownNames::default();
        let rows = self.roster.rows().iter().zip(all).enumerate();
        let each = rows.map(|(at, (row, held))| {
            let same = self.lives.shares_family(row.kinship, &before.lives);
            let anew = || self.made(at, &mut shown);
            let anew = (!same).then(anew).flatten();
            anew.unwrap_or_else(|| Arc::clone(held))
        });
        each.collect()
    }
}
