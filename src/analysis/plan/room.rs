//! Room in trays at a place: how many there are, how many are taken. It plans nothing.

use crate::fold::Book;
use crate::model::taxon::Taxon;
use crate::model::text::{folded, split_spot};
use chrono::NaiveDate;
use serde::Serialize;

/// The room at a place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
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
pub(super) fn tray_room(book: &Book, on: NaiveDate, taxon: &Taxon) -> Option<TrayRoom> {
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

/// The room at a place, and what all plans ask of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RoomAsked {
    /// The room.
    #[serde(flatten)]
    pub room: TrayRoom,
    /// Trays asked for.
    pub asked: u32,
}
