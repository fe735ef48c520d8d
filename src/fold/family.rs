//! Folding batches with the parts that left them, and keeping what did not change since the last time.

use super::assign::{Assigned, BatchEntries};
use super::batch::Batch;
use super::life::{Birth, NamesRead, live};
use super::settle::Standing;
use crate::model::fault::BookFault;
use crate::model::id::Id;
use foldhash::HashMap;
use std::sync::Arc;
use std::thread::Builder;

/// A batch as folded, with its faults by the number of the event that shows each.
#[derive(Clone)]
pub struct FoldedBatch {
    /// A batch of the family as it stands.
    pub batch: Arc<Batch>,
    /// What does not fit, with the place of its entry in fold order.
    pub faults: Vec<(usize, BookFault)>,
}

/// Families folded before: a stick and all parts that come of it, by the stick's id.
#[derive(Default)]
pub struct Families {
    known: HashMap<Id, Vec<FoldedBatch>>,
}

/// The batches of a family with the entries of each, the stick first, and what came of them.
struct Family<'a> {
    standing: &'a [Standing],
    members: Vec<&'a BatchEntries>,
    folded: Vec<FoldedBatch>,
}

/// Fewer families than this are not worth a thread.
const FEW: usize = 256;

impl Families {
    /// Folds all batches, in the order of `assigned`, on so many threads.
    pub fn live(
        &mut self,
        standing: &[Standing],
        assigned: &Assigned,
        threads: usize,
    ) -> Vec<FoldedBatch> {
        let (mut families, place) = grouped(standing, assigned);
        let mut known = std::mem::take(&mut self.known);
        for family in &mut families {
            let held = family.key().and_then(|key| known.remove(key));
            if let Some(held) = held.filter(|held| family.made(held)) {
                family.folded = held;
            }
        }
        let unfolded = |family: &&mut Family<'_>| family.folded.is_empty();
        let mut fresh: Vec<&mut Family<'_>> = families.iter_mut().filter(unfolded).collect();
        fold_all(&mut fresh, threads);
        let batches = place.into_iter();
        let folded = batches
            .filter_map(|(family, member)| families.get(family)?.folded.get(member).cloned())
            .collect();
        let keyed = families.into_iter();
        self.known = keyed
            .filter_map(|family| Some((family.key()?.clone(), family.folded)))
            .collect();
        folded
    }
}

/// Folds families, each by itself. Where no thread is to be had the caller's own does the work.
fn fold_all(families: &mut [&mut Family<'_>], threads: usize) {
    let shares = threads.clamp(1, families.len().div_ceil(FEW).max(1));
    let share = families.len().div_ceil(shares).max(1);
    std::thread::scope(|scope| {
        let mut parts = families.chunks_mut(share);
        let own = parts.next();
        for part in parts {
            let work = || fold_each(part.iter_mut());
            if Builder::new().spawn_scoped(scope, work).is_err() {
                break;
            }
        }
        let own = own.unwrap_or_default();
        fold_each(own.iter_mut());
    });
    let left = families.iter_mut().filter(|it| it.folded.is_empty());
    fold_each(left);
}

fn fold_each<'a, 'b: 'a, 'c: 'b>(families: impl Iterator<Item = &'a mut &'b mut Family<'c>>) {
    let mut names = NamesRead::default();
    families.for_each(|family| family.fold(&mut names));
}

/// The families, not folded yet, and the family and number of each batch.
fn grouped<'a>(
    standing: &'a [Standing],
    assigned: &'a Assigned,
) -> (Vec<Family<'a>>, Vec<(usize, usize)>) {
    let mut families: Vec<Family<'_>> = Vec::new();
    let mut place: Vec<(usize, usize)> = Vec::with_capacity(assigned.batches.len());
    for own in &assigned.batches {
        let family = match own.parent {
            Some(parent) => place[parent].0,
            None => {
                families.push(Family {
                    standing,
                    members: Vec::new(),
                    folded: Vec::new(),
                });
                families.len() - 1
            }
        };
        let members = &mut families[family].members;
        place.push((family, members.len()));
        members.push(own);
    }
    (families, place)
}

impl Family<'_> {
    /// The id of the stick that it comes of.
    fn key(&self) -> Option<&Id> {
        let first = self.members.first()?;
        Some(&self.standing[first.birth].entry.id)
    }

    /// Whether it is of these very entries that those batches were made.
    fn made(&self, held: &[FoldedBatch]) -> bool {
        let is_of = |member: &BatchEntries, held: &FoldedBatch| {
            let events = &held.batch.events;
            let numbers = std::iter::once(&member.birth).chain(&member.entries);
            events.len() == member.entries.len() + 1
                && numbers
                    .zip(events)
                    .all(|(at, event)| event.is_of(&self.standing[*at]))
        };
        let mut pairs = self.members.iter().zip(held);
        self.members.len() == held.len() && pairs.all(|(member, held)| is_of(member, held))
    }

    /// Folds it: a parent stands before its parts, which begin with what left it.
    fn fold(&mut self, names: &mut NamesRead) {
        let mut to_come: HashMap<Id, Birth> = HashMap::default();
        for member in &self.members {
            let began = &self.standing[member.birth];
            let part = to_come.remove(&began.entry.id);
            let Some(birth) = part.or_else(|| Birth::from_stick(began, names)) else {
                continue;
            };
            let lived = live(birth, member.entries.iter().map(|at| &self.standing[*at]));
            let parts = lived.parts.into_iter();
            to_come.extend(parts.map(|part| (part.event.entry.id.clone(), part)));
            self.folded.push(FoldedBatch {
                batch: Arc::new(lived.batch),
                faults: lived.faults,
            });
        }
    }
}
