//! At which wood stages a taxon is stuck here. It plans nothing.

use crate::analysis::expect::Model;
use crate::fold::Book;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;

/// The wood stages at which a taxon was ever stuck; failing that those of the journal; failing that not recorded.
pub(super) fn stages(book: &Book, model: &Model, taxon: &Taxon) -> Vec<Option<Wood>> {
    let stuck = || book.batches().iter().filter(|b| b.stuck_on <= model.on());
    let mut own: Vec<Option<Wood>> = stuck()
        .filter(|b| b.taxon.key() == taxon.key())
        .map(|b| b.stick.wood)
        .collect();
    if own.is_empty() {
        own = stuck().map(|b| b.stick.wood).collect();
    }
    if own.iter().any(Option::is_some) {
        own.retain(Option::is_some);
    }
    own.sort_unstable();
    own.dedup();
    if own.is_empty() { vec![None] } else { own }
}
