//! A pool while it is filled: each nursery's seasons, in as little room as the figures need. It reads no file.

use super::cells::PoolCell;
use super::group::PoolGroup;
use super::parts::{UncountedPart, WhyUncounted};
use super::synonyms::{AliasSaid, Synonyms};
use crate::model::taxon::Taxon;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What a group is: the key of its taxon, its wood stage, its other keys in the order asked for.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct GroupPlace {
    pub taxon: String,
    pub wood: Option<String>,
    pub by: Vec<Option<String>>,
}

/// A group of one part: with its batches while the pool is of one nursery, then as sums.
#[derive(Clone, Debug)]
pub(super) enum Stored {
    Whole(Box<PoolGroup>),
    Sums(Box<PoolCell>),
}

impl Stored {
    fn summed(&mut self) {
        if let Self::Whole(group) = self {
            *self = Self::Sums(Box::new(PoolCell::new(&group.batches, &group.intervals)));
        }
    }
}

#[derive(Clone, Debug)]
pub(super) struct PoolPart {
    pub nursery: Arc<str>,
    pub season: i32,
    groups: u32,
    taken: BTreeSet<u32>,
    pub cells: Vec<(Arc<GroupPlace>, Stored)>,
}

/// How large a pool is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PoolSums {
    /// Nurseries.
    pub nurseries: usize,
    /// Their seasons, each a part.
    pub parts: usize,
}

/// What was published, by part.
#[derive(Debug, Default)]
pub struct Pool {
    keys: Vec<String>,
    parts: BTreeMap<String, PoolPart>,
    places: BTreeSet<Arc<GroupPlace>>,
    nurseries: BTreeSet<Arc<str>>,
    /// Keys of the names that batches are published under, with the name and the first nursery by name that has it.
    names: BTreeMap<String, (Arc<str>, String)>,
    aliases: BTreeSet<AliasSaid>,
    repeated: BTreeMap<String, u64>,
}

impl Pool {
    /// An empty pool of groups by these keys, in this order.
    #[must_use]
    pub fn new(keys: Vec<String>) -> Self {
        Self {
            keys,
            ..Self::default()
        }
    }

    /// Takes in a group of a part.
    pub fn add(&mut self, group: PoolGroup) {
        let nursery = match self.nurseries.get(group.nursery.as_str()) {
            Some(nursery) => nursery.clone(),
            None => {
                let nursery: Arc<str> = group.nursery.as_str().into();
                self.nurseries.insert(nursery.clone());
                if self.nurseries.len() == 2 {
                    let parts = self.parts.values_mut();
                    parts.for_each(|part| part.cells.iter_mut().for_each(|it| it.1.summed()));
                }
                nursery
            }
        };
        let begun = || PoolPart {
            nursery: nursery.clone(),
            season: group.season,
            groups: group.groups,
            taken: BTreeSet::new(),
            cells: Vec::new(),
        };
        let part = self.parts.entry(group.part.clone()).or_insert_with(begun);
        if !part.taken.insert(group.group) {
            *self.repeated.entry(group.part).or_default() += group.batches.len() as u64;
            return;
        }
        let key = Taxon::parse(&group.taxon).key();
        for alias in &group.aliases {
            self.aliases.insert(AliasSaid {
                nursery: group.nursery.clone(),
                alias: alias.clone(),
                taxon: group.taxon.clone(),
            });
        }
        let named = (nursery, group.taxon.clone());
        let known = self
            .names
            .entry(key.clone())
            .or_insert_with(|| named.clone());
        if named < *known {
            *known = named;
        }
        let by = self.keys.iter();
        let place = GroupPlace {
            taxon: key,
            wood: group.wood.clone(),
            by: by.map(|key| group.by.get(key).cloned().flatten()).collect(),
        };
        let place = match self.places.get(&place) {
            Some(place) => place.clone(),
            None => {
                let place = Arc::new(place);
                self.places.insert(place.clone());
                place
            }
        };
        let mut stored = Stored::Whole(Box::new(group.sorted()));
        if self.nurseries.len() > 1 {
            stored.summed();
        }
        part.cells.push((place, stored));
    }

    /// Parts that came again, each with how many of its batches.
    #[must_use]
    pub fn repeated(&self) -> &BTreeMap<String, u64> {
        &self.repeated
    }

    /// Takes out the parts that cannot count: those of which groups are missing, and all versions of a season that stands
    /// in several.
    pub(super) fn take_out_uncounted(&mut self) -> Vec<UncountedPart> {
        let named = self.parts.iter();
        let named = named.map(|(name, part)| (name.as_str(), &*part.nursery, part.season));
        let mut out = versions_left_out(named);
        for part in &out {
            self.parts.remove(&part.part);
        }
        self.parts.retain(|name, part| {
            let rows = part.taken.len() as u32;
            if rows == part.groups {
                return true;
            }
            let why = WhyUncounted::Short {
                rows,
                of: part.groups,
            };
            out.push(UncountedPart {
                nursery: part.nursery.to_string(),
                season: part.season,
                part: name.clone(),
                why,
            });
            false
        });
        out.sort();
        out
    }

    /// The parts by nursery and season, which give the same figures in whatever order they came.
    pub(super) fn parts_in_order(&mut self) -> Vec<PoolPart> {
        let parts = std::mem::take(&mut self.parts);
        let mut parts: Vec<PoolPart> = parts.into_values().collect();
        for part in &mut parts {
            part.cells.sort_by(|a, b| a.0.cmp(&b.0));
        }
        parts.sort_by(|a, b| (&a.nursery, a.season).cmp(&(&b.nursery, b.season)));
        parts
    }

    pub(super) fn sums(&self) -> PoolSums {
        let nurseries: BTreeSet<&Arc<str>> = self.parts.values().map(|it| &it.nursery).collect();
        PoolSums {
            nurseries: nurseries.len(),
            parts: self.parts.len(),
        }
    }

    pub(super) fn synonyms(&self) -> Synonyms {
        let published = self.names.iter();
        let published = published.map(|(key, (_, name))| (key.clone(), name.clone()));
        Synonyms::new(&self.aliases, &published.collect())
    }

    /// How a taxon of that key is shown.
    pub(super) fn shown(&self, key: &str) -> String {
        let known = self.names.get(key);
        known.map_or_else(|| Taxon::parse(key).shown(), |(_, name)| name.clone())
    }
}

/// The parts of seasons that stand in several versions, among parts by their names, nurseries and seasons.
pub(super) fn versions_left_out<'p>(
    parts: impl Iterator<Item = (&'p str, &'p str, i32)>,
) -> Vec<UncountedPart> {
    let mut seasons: BTreeMap<(&str, i32), Vec<&str>> = BTreeMap::new();
    for (part, nursery, season) in parts {
        seasons.entry((nursery, season)).or_default().push(part);
    }
    let several = seasons.into_iter().filter(|(_, parts)| parts.len() > 1);
    let each = several.flat_map(|((nursery, season), parts)| {
        let versions = parts.len();
        parts.into_iter().map(move |part| UncountedPart {
            nursery: nursery.to_owned(),
            season,
            part: part.to_owned(),
            why: WhyUncounted::Versions { versions },
        })
    });
    each.collect()
}
