//! Folding batches with the parts that left them, and keeping what did not change since the last time.

use super::assign::Assigned;
use super::batch::Batch;
use super::life::{Birth, live};
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

/// Families folded before: a stick and all parts that come of it.
#[derive(Default)]
pub struct Families {
    known: HashMap<Id, Family>,
}

/// The entries of a family's batches, each with the one that began it, and what came of them.
#[derive(Default)]
struct Family {
    members: Vec<Member>,
    folded: Vec<FoldedBatch>,
}

struct Member {
    birth: Standing,
    entries: Vec<Standing>,
}

impl Member {
    fn is_same(&self, other: &Self) -> bool {
        self.birth.is_same(&other.birth)
            && self.entries.len() == other.entries.len()
            && self
                .entries
                .iter()
                .zip(&other.entries)
                .all(|(a, b)| a.is_same(b))
    }
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
            let held = key(family).and_then(|key| known.remove(key));
            if let Some(held) = held.filter(|held| same(&held.members, &family.members)) {
                *family = held;
            }
        }
        let unfolded = |family: &&mut Family| family.folded.is_empty();
        let mut fresh: Vec<&mut Family> = families.iter_mut().filter(unfolded).collect();
        fold_all(&mut fresh, threads);
        let batches = place.into_iter();
        let folded = batches
            .filter_map(|(family, member)| families.get(family)?.folded.get(member).cloned())
            .collect();
        let keyed = families.into_iter();
        self.known = keyed
            .filter_map(|family| Some((key(&family)?.clone(), family)))
            .collect();
        folded
    }
}

/// The id of the stick that a family comes of.
fn key(family: &Family) -> Option<&Id> {
    family.members.first().map(|first| &first.birth.entry.id)
}

/// Folds families, each by itself. Where no thread is to be had the caller's own does the work.
fn fold_all(families: &mut [&mut Family], threads: usize) {
    let shares = threads.clamp(1, families.len().div_ceil(FEW).max(1));
    let share = families.len().div_ceil(shares).max(1);
    std::thread::scope(|scope| {
        let mut parts = families.chunks_mut(share);
        let own = parts.next();
        for part in parts {
            let work = || part.iter_mut().for_each(|family| family.fold());
            if Builder::new().spawn_scoped(scope, work).is_err() {
                break;
            }
        }
        let own = own.unwrap_or_default();
        own.iter_mut().for_each(|family| family.fold());
    });
    let left = families.iter_mut().filter(|it| it.folded.is_empty());
    left.for_each(|family| family.fold());
}

impl Family {
    fn fold(&mut self) {
        self.folded = fold(&self.members);
    }
}

fn same(a: &[Member], b: &[Member]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.is_same(b))
}

/// The families, not folded yet, of each the stick first, and the family and number of each batch.
fn grouped(standing: &[Standing], assigned: &Assigned) -> (Vec<Family>, Vec<(usize, usize)>) {
    let mut families: Vec<Family> = Vec::new();
    let mut place: Vec<(usize, usize)> = Vec::with_capacity(assigned.batches.len());
    for own in &assigned.batches {
        let family = match own.parent {
            Some(parent) => place[parent].0,
            None => {
                families.push(Family::default());
                families.len() - 1
            }
        };
        let members = &mut families[family].members;
        place.push((family, members.len()));
        members.push(Member {
            birth: standing[own.birth].clone(),
            entries: own.entries.iter().map(|at| standing[*at].clone()).collect(),
        });
    }
    (families, place)
}

/// Folds a family: a parent stands before its parts, which begin with what left it.
fn fold(members: &[Member]) -> Vec<FoldedBatch> {
    let mut to_come: HashMap<Id, Birth> = HashMap::default();
    let mut out = Vec::with_capacity(members.len());
    for member in members {
        let part = to_come.remove(&member.birth.entry.id);
        let Some(birth) = part.or_else(|| Birth::from_stick(&member.birth)) else {
            continue;
        };
        let lived = live(birth, &member.entries);
        let parts = lived.parts.into_iter();
        to_come.extend(parts.map(|part| (part.event.entry.id.clone(), part)));
        out.push(FoldedBatch {
            batch: Arc::new(lived.batch),
            faults: lived.faults,
        });
    }
    out
}
