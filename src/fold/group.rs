//! To which group a batch belongs, and whether a filter admits it: facts at sticking, compared folded.

use super::batch::Batch;
use super::book::Book;
use super::names::hormone_text;
use crate::model::filter::{Filter, GroupKey};
use crate::model::text::{folded, split_spot};
use chrono::Datelike;

impl Filter {
    /// Whether the filter admits a batch of the book.
    #[must_use]
    pub fn admits(&self, book: &Book, batch: &Batch) -> bool {
        let taxon = |text: &String| book.taxa().is_meant(text, &batch.taxon);
        let trial = |text: &String| {
            let own = batch.stick.trial.as_deref();
            own.is_some_and(|own| folded(own) == folded(text))
        };
        self.taxon.as_ref().is_none_or(taxon)
            && self
                .only
                .as_ref()
                .is_none_or(|key| batch.taxon.key() == *key)
            && self.wood.is_none_or(|wood| batch.stick.wood == Some(wood))
            && self
                .season
                .is_none_or(|season| book.season(batch.stuck_on) == season)
            && self.place.as_ref().is_none_or(|p| at_place(book, batch, p))
            && self.trial.as_ref().is_none_or(trial)
            && self.since.is_none_or(|day| batch.stuck_on >= day)
            && self.until.is_none_or(|day| batch.stuck_on <= day)
    }
}

/// Whether a batch was stuck at a place; on that spot if one is given.
fn at_place(book: &Book, batch: &Batch, wanted: &str) -> bool {
    let Some(place) = batch.stick.place.as_deref() else {
        return false;
    };
    let (place, wanted) = (book.places().shown(place), book.places().shown(wanted));
    match split_spot(&wanted) {
        (_, Some(_)) => folded(&place) == folded(&wanted),
        (name, None) => folded(split_spot(&place).0) == folded(name),
    }
}

impl GroupKey {
    /// The group of a batch, as the journal first wrote it; nothing if not recorded.
    #[must_use]
    pub fn value_for(self, book: &Book, batch: &Batch) -> Option<String> {
        let stick = &batch.stick;
        let text = |value: &Option<String>| {
            let value = value.as_deref()?;
            Some(book.spelling().first(self.word(), value))
        };
        let day = batch.stuck_on;
        match self {
            Self::Taxon => Some(batch.taxon.shown()),
            Self::Wood => stick.wood.map(|w| w.word().to_owned()),
            Self::Season => Some(book.season(day).to_string()),
            Self::Month => Some(format!("{:04}-{:02}", day.year(), day.month())),
            Self::Week => {
                let week = day.iso_week();
                Some(format!("{:04}-W{:02}", week.year(), week.week()))
            }
            Self::Place => {
                let shown = book.places().shown(stick.place.as_deref()?);
                Some(split_spot(&shown).0.to_owned())
            }
            Self::Cover => stick.cover.map(|c| c.word().to_owned()),
            Self::Hormone => {
                let hormone = hormone_text(stick.hormone.as_ref()?);
                Some(book.spelling().first("hormone", &hormone))
            }
            Self::Medium => text(&stick.medium),
            Self::Cut => stick.cut.map(|c| c.word().to_owned()),
            Self::Piece => stick.piece.map(|p| p.word().to_owned()),
            Self::Source => text(&stick.source),
            Self::Trial => text(&stick.trial),
            Self::Arm => text(&stick.arm),
        }
    }
}
