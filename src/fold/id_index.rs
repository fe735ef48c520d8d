//! Where each id stands in a list of entries that grows. Those that arrive in their order need no more than to be listed; the
//! others are hashed, and all are once others are many, as in a second file. Of ids it
//! holds few: the list is asked for them.

use crate::model::id::Id;
use foldhash::fast::RandomState;
use hashbrown::HashTable;
use std::hash::BuildHasher;

/// The places of ids in a list.
#[derive(Debug, Default)]
pub struct IdIndex {
    /// Those that were above all before them when they came; once all are hashed, the highest alone.
    rising: Vec<u32>,
    /// The first id of each [`STRETCH`] of those listed: a search through these waits little for memory.
    fences: Vec<Id>,
    hashed: HashTable<u32>,
    all_hashed: bool,
    state: RandomState,
}

/// So many that are listed follow one another between two fences.
const STRETCH: usize = 16;
/// Once more than one in so many ids came late, and a few, all are hashed.
const LATE_SHARE: usize = 16;
/// So few that came late are no reason to hash all.
const FEW_LATE: usize = 16;

impl IdIndex {
    /// Whether an id is above all that are listed, so that it cannot be among them.
    pub fn is_above_all<'a>(&self, id: &Id, id_at: impl Fn(u32) -> &'a Id) -> bool {
        let highest = self.rising.last();
        highest.is_none_or(|at| id_at(*at) < id)
    }

    /// The place of an id.
    pub fn find<'a>(&self, id: &Id, id_at: impl Fn(u32) -> &'a Id) -> Option<usize> {
        let hashed = || {
            let hash = self.state.hash_one(id);
            self.hashed.find(hash, |at| id_at(*at) == id)
        };
        let listed = || {
            let stretch = self.fences.partition_point(|fence| fence <= id);
            let begin = stretch.checked_sub(1)? * STRETCH;
            let end = self.rising.len().min(begin + STRETCH);
            let listed = self.rising.get(begin..end)?;
            let place = listed.binary_search_by(|at| id_at(*at).cmp(id)).ok()?;
            listed.get(place)
        };
        let found = match self.all_hashed {
            true => hashed(),
            false => hashed().or_else(listed),
        };
        found.map(|at| *at as usize)
    }

    /// Adds the id at a place behind all others; it is above them if it `rises`.
    pub fn add<'a>(&mut self, at: usize, rises: bool, id_at: impl Fn(u32) -> &'a Id) {
        // There are no more entries than numbers of lines, which are as wide.
        let at = u32::try_from(at).unwrap_or(u32::MAX);
        if rises {
            if self.all_hashed {
                self.rising.clear();
            } else if self.rising.len().is_multiple_of(STRETCH) {
                self.fences.push(id_at(at).clone());
            }
            self.rising.push(at);
        }
        if !rises || self.all_hashed {
            self.hash(at, &id_at);
        }
        if !self.all_hashed && self.hashed.len() > FEW_LATE + self.rising.len() / LATE_SHARE {
            self.all_hashed = true;
            self.fences = Vec::new();
            let listed = std::mem::take(&mut self.rising);
            listed.iter().for_each(|at| self.hash(*at, &id_at));
            // The highest is still needed.
            self.rising.extend(listed.last());
        }
    }

    fn hash<'a>(&mut self, at: u32, id_at: impl Fn(u32) -> &'a Id) {
        let hash = |at: &u32| self.state.hash_one(id_at(*at));
        self.hashed.insert_unique(hash(&at), at, hash);
    }
}
