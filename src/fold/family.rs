//! Folding batches with the parts that left them, and keeping what did not change since the last time.

use super::assign::Assigned;
use super::batch::Batch;
use super::life::{Birth, live};
use super::settle::Standing;
use crate::model::fault::BookFault;
use crate::model::id::Id;
use std::collections::HashMap;
use std::sync::Arc;

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

impl Families {
    /// Folds all batches, in the order of `assigned`.
    pub fn live(&mut self, standing: &[Standing], assigned: &Assigned) -> Vec<FoldedBatch> {
        let (families, place) = grouped(standing, assigned);
        let mut known = std::mem::take(&mut self.known);
        let mut folded = Vec::with_capacity(families.len());
        for members in families {
            let key = members.first().map(|first| first.birth.entry.id.clone());
            let Some(key) = key else { continue };
            let family = match known
                .remove(&key)
                .filter(|old| same(&old.members, &members))
            {
                Some(old) => old,
                None => Family {
                    folded: fold(&members),
                    members,
                },
            };
            folded.push(family.folded.clone());
            self.known.insert(key, family);
        }
        let each = place.into_iter();
        each.filter_map(|(family, member)| folded.get(family)?.get(member).cloned())
            .collect()
    }
}

fn same(a: &[Member], b: &[Member]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.is_same(b))
}

/// The members of each family, the stick first, and the family and number of each batch.
fn grouped(standing: &[Standing], assigned: &Assigned) -> (Vec<Vec<Member>>, Vec<(usize, usize)>) {
    let mut families: Vec<Vec<Member>> = Vec::new();
    let mut place: Vec<(usize, usize)> = Vec::with_capacity(assigned.batches.len());
    for own in &assigned.batches {
        let family = match own.parent {
            Some(parent) => place[parent].0,
            None => {
                families.push(Vec::new());
                families.len() - 1
            }
        };
        let members = &mut families[family];
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
    let mut to_come: HashMap<Id, Birth> = HashMap::new();
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
