//! The taxa of the journal: one name for each however it was written, and what is known of each.

use super::standing::Standing;
use crate::model::entry;
use crate::model::entry::Kind;
use crate::model::taxon::Taxon;
use crate::model::text::folded;
use std::collections::HashMap;

/// All taxa that the journal speaks of.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Taxa {
    list: Vec<Known>,
    by_key: HashMap<String, usize>,
    /// Key of an alias to the key of the name that it stands for.
    aliases: HashMap<String, String>,
}

/// A taxon and what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// Its name as first written.
    pub taxon: Taxon,
    /// What `taxon` entries say of it: each field as last stated; nothing if none speaks of it.
    pub facts: Option<entry::Taxon>,
}

impl Taxa {
    /// Of entries in fold order; `names` are those of the batches, in order of sticking.
    pub fn of<'a>(standing: &[Standing], names: impl Iterator<Item = &'a Taxon>) -> Self {
        let mut taxa = Self::default();
        let stated: Vec<(Taxon, &entry::Taxon)> = standing
            .iter()
            .filter_map(|standing| match &standing.entry.kind {
                Kind::Taxon(it) => Some((Taxon::parse(&it.taxon), &**it)),
                _ => None,
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
            list.push(Known {
                taxon: taxon.clone(),
                facts: None,
            });
            list.len() - 1
        })
    }

    fn state(&mut self, taxon: &Taxon, said: &entry::Taxon) {
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

    /// The same for a name that is read already.
    #[must_use]
    pub fn resolved(&self, taxon: &Taxon) -> Taxon {
        let key = taxon.key();
        let key = self.aliases.get(&key).unwrap_or(&key);
        let known = self.by_key.get(key).map(|at| &self.list[*at].taxon);
        known.unwrap_or(taxon).clone()
    }

    /// What is known of a taxon.
    #[must_use]
    pub fn get(&self, taxon: &Taxon) -> Option<&Known> {
        let key = taxon.key();
        let key = self.aliases.get(&key).unwrap_or(&key);
        self.by_key.get(key).map(|at| &self.list[*at])
    }

    /// All taxa: those with facts first, then as the batches name them.
    #[must_use]
    pub fn all(&self) -> &[Known] {
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
