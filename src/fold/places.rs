//! The places of the nursery: their names and aliases, what is known of each. The spot on a place is no place.

use super::standing::Standing;
use crate::model::entry;
use crate::model::entry::Kind;
use crate::model::text::{folded, split_spot};
use std::collections::HashMap;

/// A place.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its name as first written, without a spot.
    pub name: String,
    /// What `place` entries say of it: each field as last stated; nothing if none speaks of it.
    pub facts: Option<entry::Place>,
}

/// All places that the journal speaks of.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    list: Vec<Place>,
    by_name: HashMap<String, usize>,
    /// Folded alias to the name that it stands for, spot and all.
    aliases: HashMap<String, String>,
}

impl Places {
    /// Of entries in fold order, then of the names of climate lines.
    pub fn of(standing: &[Standing], climate: &[&str]) -> Self {
        let mut places = Self::default();
        for standing in standing {
            if let Kind::Place(it) = &standing.entry.kind {
                for alias in it.aliases.iter().flatten() {
                    places.aliases.insert(folded(alias), it.place.clone());
                }
            }
        }
        // A name with facts of its own is no alias.
        for standing in standing {
            if let Kind::Place(it) = &standing.entry.kind {
                places.aliases.remove(&folded(split_spot(&it.place).0));
            }
        }
        for standing in standing {
            for name in written(&standing.entry.kind).into_iter().flatten() {
                places.note(name);
            }
            if let Kind::Place(it) = &standing.entry.kind {
                places.state(it);
            }
        }
        for name in climate {
            places.note(name);
        }
        places
    }

    fn note(&mut self, name: &str) -> usize {
        let resolved = self.resolved(name);
        let name = split_spot(&resolved).0;
        let list = &mut self.list;
        *self.by_name.entry(folded(name)).or_insert_with(|| {
            list.push(Place {
                name: name.to_owned(),
                facts: None,
            });
            list.len() - 1
        })
    }

    fn state(&mut self, said: &entry::Place) {
        let at = self.note(&said.place);
        let facts = self.list[at].facts.get_or_insert_with(|| entry::Place {
            place: said.place.clone(),
            ..said.clone()
        });
        let last = |new: &Option<_>, old: &mut Option<_>| {
            if let Some(new) = new {
                *old = Some(*new);
            }
        };
        if let Some(aliases) = &said.aliases {
            facts.aliases = Some(aliases.clone());
        }
        facts.cover = said.cover.or(facts.cover);
        facts.trays = said.trays.or(facts.trays);
        facts.nozzles = said.nozzles.or(facts.nozzles);
        facts.nozzle_l_h = said.nozzle_l_h.or(facts.nozzle_l_h);
        facts.area_m2 = said.area_m2.or(facts.area_m2);
        last(&said.vpd_low_kpa, &mut facts.vpd_low_kpa);
        last(&said.vpd_high_kpa, &mut facts.vpd_high_kpa);
        facts.closed = said.closed.or(facts.closed);
    }

    /// The name that an alias stands for, else the name itself; the spot stays.
    fn resolved(&self, name: &str) -> String {
        if let Some(whole) = self.aliases.get(&folded(name)) {
            return whole.clone();
        }
        let (bare, spot) = split_spot(name);
        match (self.aliases.get(&folded(bare)), spot) {
            (None, _) => name.trim().to_owned(),
            (Some(whole), None) => whole.clone(),
            (Some(whole), Some(spot)) => format!("{}/{spot}", split_spot(whole).0),
        }
    }

    /// What two names must share to be one place: folded, aliases resolved, without the spot.
    #[must_use]
    pub fn key(&self, name: &str) -> String {
        folded(split_spot(&self.resolved(name)).0)
    }

    /// The place of that name or alias; a spot is ignored.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Place> {
        self.by_name.get(&self.key(name)).map(|at| &self.list[*at])
    }

    /// The name as first written, with the spot as given.
    #[must_use]
    pub fn shown(&self, name: &str) -> String {
        let resolved = self.resolved(name);
        let (bare, spot) = split_spot(&resolved);
        let known = self.by_name.get(&folded(bare));
        let bare = known.map_or(bare, |at| &self.list[*at].name);
        match spot {
            None => bare.to_owned(),
            Some(spot) => format!("{bare}/{spot}"),
        }
    }

    /// All places, in the order in which the journal first speaks of them.
    #[must_use]
    pub fn all(&self) -> &[Place] {
        &self.list
    }
}

/// The places that an entry names.
fn written(kind: &Kind) -> [Option<&str>; 1] {
    let place = match kind {
        Kind::Stick(it) => it.place.as_deref(),
        Kind::Pot(it) => it.place.as_deref(),
        Kind::Move(it) => it.place.as_deref(),
        Kind::Treat(it) => it.place.as_deref(),
        Kind::Remark(it) => it.place.as_deref(),
        Kind::Place(it) => Some(&*it.place),
        _ => None,
    };
    [place]
}
