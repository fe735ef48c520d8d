//! The groups that batches borrow from one another in: taxon and wood stage, taxon, genus, all. It computes nothing.

use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::stats::pooling::{Spot, Tree};
use std::collections::HashMap;

/// The tree of groups, with where each is found.
#[derive(Clone, Debug, Default)]
pub(super) struct Groups {
    pub tree: Tree,
    leaves: HashMap<(String, Option<Wood>), usize>,
    taxa: HashMap<String, usize>,
    genera: HashMap<String, usize>,
}

/// Levels above the leaves.
const TAXON: usize = 1;
const GENUS: usize = 2;
const ALL: usize = 3;

/// What a taxon is pooled by beyond itself: its genus, or itself where none was read.
fn genus(taxon: &Taxon) -> String {
    taxon.genus().map_or_else(|| taxon.key(), str::to_lowercase)
}

impl Groups {
    /// Makes the groups of these taxa and wood stages, in their order.
    pub fn new<'a>(kinds: impl Iterator<Item = (&'a Taxon, Option<Wood>)>) -> Self {
        let mut groups = Self::default();
        groups.tree.up = vec![Vec::new(); ALL];
        for (taxon, wood) in kinds {
            groups.add(taxon, wood);
        }
        groups
    }

    fn add(&mut self, taxon: &Taxon, wood: Option<Wood>) {
        let [leaves, taxa, genera] = &mut self.tree.up[..] else {
            return;
        };
        let genus = *self.genera.entry(genus(taxon)).or_insert_with(|| {
            genera.push(0);
            genera.len() - 1
        });
        let of_taxon = *self.taxa.entry(taxon.key()).or_insert_with(|| {
            taxa.push(genus);
            taxa.len() - 1
        });
        self.leaves.entry((taxon.key(), wood)).or_insert_with(|| {
            leaves.push(of_taxon);
            leaves.len() - 1
        });
    }

    /// How many leaves.
    pub fn len(&self) -> usize {
        self.tree.up.first().map_or(0, Vec::len)
    }

    /// The leaf of a taxon and wood stage, if it is there.
    pub fn leaf(&self, taxon: &Taxon, wood: Option<Wood>) -> Option<usize> {
        self.leaves.get(&(taxon.key(), wood)).copied()
    }

    /// The leaf of a taxon and wood stage, or the nearest group above it that is there.
    pub fn spot(&self, taxon: &Taxon, wood: Option<Wood>) -> Spot {
        if let Some(leaf) = self.leaf(taxon, wood) {
            return Spot::Leaf(leaf);
        }
        let below = |level| move |&node: &usize| Spot::Below { level, node };
        let taxon_node = self.taxa.get(&taxon.key()).map(below(TAXON));
        let genus_node = || self.genera.get(&genus(taxon)).map(below(GENUS));
        taxon_node.or_else(genus_node).unwrap_or(Spot::Below {
            level: ALL,
            node: 0,
        })
    }

    /// How many members each group has: `members` by leaf.
    pub fn sizes(&self, members: &[u32]) -> GroupSizes {
        let mut levels = vec![members.to_vec()];
        for (level, up) in self.tree.up.iter().enumerate() {
            let mut above = vec![0; self.tree.up.get(level + 1).map_or(1, Vec::len)];
            for (count, &parent) in levels[level].iter().zip(up) {
                above[parent] += count;
            }
            levels.push(above);
        }
        GroupSizes(levels)
    }

    /// How many members belong to the same leaf, taxon, genus, and in all.
    pub fn kin(&self, taxon: &Taxon, wood: Option<Wood>, sizes: &GroupSizes) -> [u32; 4] {
        let size = |level: usize, node: Option<usize>| {
            let sizes = sizes.0.get(level);
            let size = sizes.zip(node).and_then(|(sizes, node)| sizes.get(node));
            size.copied().unwrap_or(0)
        };
        [
            size(0, self.leaf(taxon, wood)),
            size(TAXON, self.taxa.get(&taxon.key()).copied()),
            size(GENUS, self.genera.get(&genus(taxon)).copied()),
            size(ALL, Some(0)),
        ]
    }
}

/// How many members each group has, by level from the leaves up.
#[derive(Clone, Debug, Default)]
pub(super) struct GroupSizes(Vec<Vec<u32>>);

impl GroupSizes {
    /// In all.
    pub fn whole(&self) -> u32 {
        self.0
            .last()
            .and_then(|root| root.first())
            .copied()
            .unwrap_or(0)
    }
}
