//! The places of the nursery: their names and aliases, what is known of each. The spot on a place is no place.

use super::batch::Batch;
use super::settle::Standing;
use crate::model::composite::Hormone;
use crate::model::entry::{Entry, PlaceFacts, Remark, Stick, TaxonFacts};
use crate::model::taxon::Taxon;
use crate::model::text::{folded, place_key, split_spot};
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};

/// What was made of each name, once: few names are borne by many entries, and making it takes time.
pub(super) struct ByName<T>(HashMap<String, T>);

impl<T> Default for ByName<T> {
    fn default() -> Self {
        Self(HashMap::new())
    }
}

impl<T> ByName<T> {
    /// What is held of a name, made first if it is not there.
    pub(super) fn get_or_make(&mut self, name: &str, make: impl FnOnce(&str) -> T) -> &T {
        if !self.0.contains_key(name) {
            self.0.insert(name.to_owned(), make(name));
        }
        &self.0[name]
    }
}

/// A place.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its name as first written, without a spot.
    pub name: String,
    /// What `place` entries say of it: each field as last stated; nothing if none speaks of it.
    pub facts: Option<PlaceFacts>,
}

/// All places that the journal speaks of.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    list: Vec<Place>,
    by_name: HashMap<String, usize>,
    /// Folded alias to the name that it stands for, spot and all.
    aliases: HashMap<String, String>,
}

/// Until when batches are not to be looked at: by their own entries, or by a remark that lays their place to rest.
#[derive(Clone, Debug)]
pub struct Rests<'a> {
    places: &'a Places,
    /// By [`Places::key`], the day on which a place was last laid to rest and the day asked for.
    laid: HashMap<String, [NaiveDate; 2]>,
}

impl<'a> Rests<'a> {
    /// By the remarks of days up to one, in fold order.
    #[must_use]
    pub fn new(places: &'a Places, standing: &[Standing], on: NaiveDate) -> Self {
        let mut laid = HashMap::new();
        for entry in standing.iter().map(|standing| &standing.entry) {
            if let Some(remark) = entry.get::<Remark>()
                && let (Some(place), Some(until)) = (&remark.place, remark.again_on)
                && entry.at.day() <= on
            {
                laid.insert(places.key(place), [entry.at.day(), until]);
            }
        }
        Self { places, laid }
    }

    /// The day asked for of a batch, its own or its place's, whichever comes later. A batch stuck after its place was
    /// laid to rest does not rest with it.
    #[must_use]
    pub fn asked(&self, batch: &Batch) -> Option<NaiveDate> {
        let place = batch
            .place
            .as_ref()
            .and_then(|place| self.laid.get(&self.places.key(place)));
        let rest = place
            .filter(|[day, _]| batch.stuck_on <= *day)
            .map(|[_, until]| *until);
        batch.again_on.max(rest)
    }
}

impl Places {
    /// Collects the places that entries name, given in fold order, then those that climate lines name.
    pub fn from_entries(entries: &[Entry], climate: &[&str]) -> Self {
        let mut places = Self::default();
        let stated = entries
            .iter()
            .filter_map(|entry| entry.kind.get::<PlaceFacts>());
        let stated: Vec<&PlaceFacts> = stated.collect();
        for it in &stated {
            for alias in it.aliases.iter().flatten() {
                places.aliases.insert(folded(alias), it.place.to_string());
            }
        }
        // A name with facts of its own is no alias.
        for it in &stated {
            places.aliases.remove(&place_key(&it.place));
        }
        // Few names are written many times, and resolving one takes time.
        let mut noted: HashSet<&str> = HashSet::new();
        for entry in entries {
            entry.kind.visit_texts(&mut |field, name| {
                if field == "place" && noted.insert(name) {
                    places.note(name);
                }
            });
        }
        for it in stated {
            places.state(it);
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

    fn state(&mut self, said: &PlaceFacts) {
        let at = self.note(&said.place);
        let facts = self.list[at].facts.get_or_insert_with(|| PlaceFacts {
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
        facts.heat_c = said.heat_c.or(facts.heat_c);
        if let Some(medium) = &said.medium {
            facts.medium = Some(medium.clone());
        }
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
        place_key(&self.resolved(name))
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

// The taxa of the journal: one name for each however it was written, and what is known of each.

/// All taxa that the journal speaks of.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Taxa {
    list: Vec<TaxonRecord>,
    by_key: HashMap<String, usize>,
    /// Key of an alias to the key of the name that it stands for.
    aliases: HashMap<String, String>,
}

/// A taxon and what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub struct TaxonRecord {
    /// Its name as first written.
    pub taxon: Taxon,
    /// What `taxon` entries say of it: each field as last stated; nothing if none speaks of it.
    pub facts: Option<TaxonFacts>,
}

impl Taxa {
    /// Collects the taxa that entries name, given in fold order; `names` are the batches' taxa, in order of sticking.
    pub fn from_entries<'a>(entries: &[Entry], names: impl Iterator<Item = &'a Taxon>) -> Self {
        let mut taxa = Self::default();
        let stated: Vec<(Taxon, &TaxonFacts)> = entries
            .iter()
            .filter_map(|entry| {
                let facts = entry.kind.get::<TaxonFacts>()?;
                Some((Taxon::parse(&facts.taxon), facts))
            })
            .collect();
        for (taxon, said) in &stated {
            for alias in said.aliases.iter().flatten() {
                taxa.aliases.insert(Taxon::parse(alias).key(), taxon.key());
            }
        }
        for (taxon, said) in &stated {
            // A name with facts of its own is no alias.
            taxa.aliases.remove(&taxon.key());
            taxa.state(taxon, said);
        }
        for name in names {
            if !taxa.aliases.contains_key(&name.key()) {
                taxa.note(name);
            }
        }
        taxa
    }

    fn note(&mut self, taxon: &Taxon) -> usize {
        let list = &mut self.list;
        *self.by_key.entry(taxon.key()).or_insert_with(|| {
            list.push(TaxonRecord {
                taxon: taxon.clone(),
                facts: None,
            });
            list.len() - 1
        })
    }

    fn state(&mut self, taxon: &Taxon, said: &TaxonFacts) {
        let at = self.note(taxon);
        let facts = self.list[at].facts.get_or_insert_with(|| said.clone());
        if let Some(aliases) = &said.aliases {
            facts.aliases = Some(aliases.clone());
        }
        facts.protected = said.protected.or(facts.protected);
        facts.base_c = said.base_c.or(facts.base_c);
        facts.first_look_days = said.first_look_days.or(facts.first_look_days);
    }

    /// The taxon that a name means: aliases resolved, as first written if known, else as read.
    #[must_use]
    pub fn resolve(&self, name: &str) -> Taxon {
        self.resolved(&Taxon::parse(name))
    }

    /// The taxon that a name means, for a name that is read already.
    #[must_use]
    pub fn resolved(&self, taxon: &Taxon) -> Taxon {
        let key = taxon.key();
        let key = self.aliases.get(&key).unwrap_or(&key);
        let known = self.by_key.get(key).map(|at| &self.list[*at].taxon);
        known.unwrap_or(taxon).clone()
    }

    /// What is known of a taxon.
    #[must_use]
    pub fn get(&self, taxon: &Taxon) -> Option<&TaxonRecord> {
        let key = taxon.key();
        let key = self.aliases.get(&key).unwrap_or(&key);
        self.by_key.get(key).map(|at| &self.list[*at])
    }

    /// All taxa: those with facts first, then as the batches name them.
    #[must_use]
    pub fn all(&self) -> &[TaxonRecord] {
        &self.list
    }

    /// Whether a text may mean a taxon: its name, an alias of it, its genus, or any part of its name.
    #[must_use]
    pub fn is_meant(&self, text: &str, taxon: &Taxon) -> bool {
        let wanted = folded(text);
        let key = taxon.key();
        let is_part = |name: &str| folded(name).contains(&wanted);
        self.resolve(text).key() == key
            || is_part(&taxon.shown())
            || key.contains(&Taxon::parse(text).key())
            || self
                .get(taxon)
                .and_then(|known| known.facts.as_ref()?.aliases.as_ref())
                .is_some_and(|aliases| aliases.iter().any(|alias| is_part(alias)))
    }
}

// How the journal first wrote each name in free text, so that `perlite`, `Perlite ` and `PERLITE` are one.

/// Names as first written at a stick, by field and folded text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spelling(HashMap<(&'static str, String), String>);

impl Spelling {
    /// Collects how entries first spell each name, in fold order.
    pub fn from_entries(standing: &[Standing]) -> Self {
        let mut out = Self::default();
        for standing in standing {
            let Some(it) = standing.entry.get::<Stick>() else {
                continue;
            };
            let fields = [
                ("medium", &it.medium),
                ("source", &it.source),
                ("trial", &it.trial),
                ("arm", &it.arm),
            ];
            for (field, text) in fields {
                if let Some(text) = text {
                    out.note(field, text);
                }
            }
            if let Some(hormone) = &it.hormone {
                out.note("hormone", &hormone_text(hormone));
            }
        }
        out
    }

    fn note(&mut self, field: &'static str, text: &str) {
        let first = self.0.entry((field, folded(text)));
        first.or_insert_with(|| collapsed(text));
    }

    /// The text as first written.
    pub fn first(&self, field: &'static str, text: &str) -> String {
        let first = self.0.get(&(field, folded(text)));
        first.cloned().unwrap_or_else(|| collapsed(text))
    }
}

fn collapsed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A hormone in words: `IBA 3000 ppm talc`, several joined by ` + `, or `none`. The time of dipping is no group.
#[must_use]
pub fn hormone_text(hormone: &Hormone) -> String {
    let Hormone::Doses(doses) = hormone else {
        return "none".into();
    };
    let each = doses.iter().map(|dose| {
        let ppm = dose.ppm.map(|ppm| format!(" {} ppm", ppm.0));
        let carrier = dose.carrier.map(|c| format!(" {}", c.word()));
        let active = dose.active.trim();
        format!(
            "{active}{}{}",
            ppm.unwrap_or_default(),
            carrier.unwrap_or_default()
        )
    });
    each.collect::<Vec<_>>().join(" + ")
}
