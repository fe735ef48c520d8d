//! Names of one taxon over nurseries: what one nursery calls an alias is taken so for all, unless two nurseries disagree.
//! It knows no batch.

use crate::model::taxon::Taxon;
use crate::model::text::folded;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A name taken for another over the whole pool.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Synonym {
    /// The name that it was published under.
    pub name: String,
    /// The name that it is counted under.
    pub taxon: String,
    /// The first nursery, by name, that has the alias.
    pub nursery: String,
}

/// A name that nurseries take for different taxa, and that stays what each nursery has it for.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct SynonymConflict {
    /// The name.
    pub name: String,
    /// What it is an alias of, each with the first nursery, by name, that has it so.
    pub taxa: Vec<(String, String)>,
}

/// A taxon asked for by its name, its genus, or any part of these.
#[derive(Clone, Debug)]
pub(super) struct AskedTaxon {
    text: String,
    key: String,
}

impl AskedTaxon {
    pub(super) fn new(text: &str) -> Self {
        Self {
            text: folded(text),
            key: Taxon::parse(text).key(),
        }
    }

    /// Whether a taxon of that key may be meant, `shown` being its name.
    pub(super) fn means(&self, key: &str, shown: &str) -> bool {
        key.contains(&self.key) || folded(shown).contains(&self.text)
    }
}

/// A nursery's word that one name means another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct AliasSaid {
    pub nursery: String,
    pub alias: String,
    pub taxon: String,
}

/// The names of a pool.
#[derive(Clone, Debug, Default)]
pub(super) struct Synonyms {
    /// From the key of a name to that of the taxon that it is counted under.
    resolved: BTreeMap<String, String>,
    pub used: Vec<Synonym>,
    pub conflicts: Vec<SynonymConflict>,
}

impl Synonyms {
    /// Of the aliases that nurseries have, `published` being the keys of all names that batches are published under, with
    /// how each is shown.
    pub(super) fn new(said: &BTreeSet<AliasSaid>, published: &BTreeMap<String, String>) -> Self {
        let mut targets: BTreeMap<String, BTreeMap<String, &AliasSaid>> = BTreeMap::new();
        for it in said {
            let keys = [&it.alias, &it.taxon].map(|name| Taxon::parse(name).key());
            if keys[0] != keys[1] {
                let [alias, taxon] = keys;
                targets.entry(alias).or_default().entry(taxon).or_insert(it);
            }
        }
        let mut out = Self::default();
        for alias in published.keys() {
            match end_of(alias, &targets) {
                Ok(None) => {}
                Ok(Some((taxon, first))) => {
                    let shown = published.get(&taxon).cloned();
                    out.used.push(Synonym {
                        name: published.get(alias).cloned().unwrap_or_default(),
                        taxon: shown.unwrap_or_else(|| Taxon::parse(&taxon).shown()),
                        nursery: first.nursery.clone(),
                    });
                    out.resolved.insert(alias.clone(), taxon);
                }
                Err(disputed) => {
                    let taxa = targets
                        .get(&disputed)
                        .into_iter()
                        .flat_map(BTreeMap::values);
                    out.conflicts.push(SynonymConflict {
                        name: published.get(alias).cloned().unwrap_or_default(),
                        taxa: taxa
                            .map(|it| (it.taxon.clone(), it.nursery.clone()))
                            .collect(),
                    });
                }
            }
        }
        out
    }

    /// The key that a name's key is counted under.
    pub(super) fn resolve<'k>(&'k self, key: &'k str) -> &'k str {
        self.resolved.get(key).map_or(key, String::as_str)
    }
}

/// Where the aliases lead from a name, with the first nursery's word on the way; the name at which they part, or close in a
/// circle, is disputed.
fn end_of<'s>(
    name: &str,
    targets: &BTreeMap<String, BTreeMap<String, &'s AliasSaid>>,
) -> Result<Option<(String, &'s AliasSaid)>, String> {
    let (mut at, mut first) = (name.to_owned(), None);
    let mut passed = BTreeSet::from([at.clone()]);
    while let Some(next) = targets.get(&at) {
        let mut each = next.iter();
        let (Some((taxon, said)), None) = (each.next(), each.next()) else {
            return Err(at);
        };
        if !passed.insert(taxon.clone()) {
            return Err(at);
        }
        first = first.or(Some(*said));
        at.clone_from(taxon);
    }
    Ok(first.map(|first| (at, first)))
}
