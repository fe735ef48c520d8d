//! TrayRoom in trays at a place: how many there are, how many are taken. It plans nothing.

use super::Plan;
use crate::fold::Book;
use crate::model::taxon::Taxon;
use crate::model::text::{folded, split_spot};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// The room at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrayRoom {
    /// The place.
    pub place: String,
    /// Trays that it holds.
    pub trays: u32,
    /// Trays taken by open batches; a batch without a tray size takes one.
    pub taken: u32,
}

impl TrayRoom {
    /// Trays free.
    #[must_use]
    pub fn free(&self) -> u32 {
        self.trays.saturating_sub(self.taken)
    }
}

/// The place where a taxon was last stuck, if its room is known.
pub(super) fn of(book: &Book, on: NaiveDate, taxon: &Taxon) -> Option<TrayRoom> {
    let stuck = book.batches().iter().filter(|b| b.stuck_on <= on);
    let mut own = stuck.filter(|b| b.taxon.key() == taxon.key());
    let place = own
        .rfind(|b| b.stick.place.is_some())?
        .stick
        .place
        .clone()?;
    let held = book.places().get(split_spot(&place).0)?;
    let trays = held.facts.as_ref()?.trays?;
    let here =
        |place: &str| folded(split_spot(&book.places().shown(place)).0) == folded(&held.name);
    let open = book.batches().iter().filter(|b| b.stuck_on <= on);
    let taken = open
        .filter(|b| b.place.as_deref().is_some_and(here))
        .filter_map(|b| {
            let remain = b.counts_on(on)?.remain();
            let per_tray = b.stick.per_container.unwrap_or(remain).max(1);
            (remain > 0).then(|| remain.div_ceil(per_tray))
        })
        .sum();
    Some(TrayRoom {
        place: held.name.clone(),
        trays,
        taken,
    })
}

/// What the first offers of all plans take of each place.
pub(super) fn together(plans: &[Plan]) -> Vec<(TrayRoom, u32)> {
    let mut sums: BTreeMap<String, (TrayRoom, u32)> = BTreeMap::new();
    for plan in plans {
        let offer = plan.offers.first().filter(|offer| offer.latest.is_some());
        let (Some(room), Some(trays)) = (&plan.room, offer.and_then(super::Offer::trays)) else {
            continue;
        };
        let held = sums
            .entry(room.place.clone())
            .or_insert_with(|| (room.clone(), 0));
        held.1 += trays;
    }
    sums.into_values().collect()
}
