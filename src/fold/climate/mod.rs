//! The air, light and medium by place and time: a million lines held small, read in time order.
//! It holds what was written; vapour pressure and its like are figures.

mod column;
mod layer;
mod standings;
mod store;

use super::standing::Standing;
use crate::model::at::At;
use crate::model::entry::{Climate, Kind};
use crate::model::value::{Celsius, Percent, Ppfd, Seconds};
use chrono::NaiveDate;
use layer::Layer;
use standings::Taken;
use std::ops::Range;
use std::sync::Arc;

pub use standings::Standings;
pub use store::Store;

/// One climate line, as it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading<'a> {
    /// When.
    pub at: At,
    /// The place as written, spot and all.
    pub place: &'a str,
    /// Temperature of the air.
    pub air_c: Option<Celsius>,
    /// Relative humidity of the air.
    pub rh_pct: Option<Percent>,
    /// Temperature of the leaves.
    pub leaf_c: Option<Celsius>,
    /// Temperature of the medium.
    pub medium_c: Option<Celsius>,
    /// How long each burst of mist lasts.
    pub mist_on_s: Option<Seconds>,
    /// How often mist comes, from start to start.
    pub mist_every_s: Option<Seconds>,
    /// Light on the cuttings.
    pub ppfd: Option<Ppfd>,
    /// How far the vents stand open, in the grower's words.
    pub vent: Option<&'a str>,
}

impl<'a> Reading<'a> {
    /// What a climate entry says, at its time.
    #[must_use]
    pub fn of(at: At, climate: &'a Climate) -> Self {
        Self {
            at,
            place: &climate.place,
            air_c: climate.air_c,
            rh_pct: climate.rh_pct,
            leaf_c: climate.leaf_c,
            medium_c: climate.medium_c,
            mist_on_s: climate.mist_on_s,
            mist_every_s: climate.mist_every_s,
            ppfd: climate.ppfd,
            vent: climate.vent.as_deref(),
        }
    }

    /// Its numbers in the order of the fields, each in its field's unit.
    #[must_use]
    pub fn numbers(&self) -> [Option<f64>; 7] {
        [
            self.air_c.map(|v| v.0),
            self.rh_pct.map(|v| v.0),
            self.leaf_c.map(|v| v.0),
            self.medium_c.map(|v| v.0),
            self.mist_on_s.map(|v| v.0),
            self.mist_every_s.map(|v| v.0),
            self.ppfd.map(|v| v.0),
        ]
    }

    /// The fields as the journal holds them.
    #[must_use]
    pub fn to_climate(&self) -> Climate {
        Climate {
            place: self.place.to_owned(),
            air_c: self.air_c,
            rh_pct: self.rh_pct,
            leaf_c: self.leaf_c,
            medium_c: self.medium_c,
            mist_on_s: self.mist_on_s,
            mist_every_s: self.mist_every_s,
            ppfd: self.ppfd,
            vent: self.vent.map(Into::into),
        }
    }
}

/// The packed lines of one place as written: the bulk of them, and those that came lately. Shared, never copied.
#[derive(Clone, Debug)]
pub struct Air {
    name: Arc<str>,
    base: Arc<Layer>,
    tail: Arc<Layer>,
}

impl Air {
    /// The place as written.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    pub(super) fn len(&self) -> usize {
        self.base.len() + self.tail.len()
    }
}

/// Readings of one place in time order, from either end.
#[derive(Clone, Debug, Default)]
pub struct Readings<'a>(Vec<Source<'a>>);

/// Readings of one kind of store, sorted.
#[derive(Clone, Debug)]
enum Source<'a> {
    Packed(&'a str, &'a Layer, Range<usize>),
    Full(&'a [Standing]),
}

impl<'a> Readings<'a> {
    /// Adds the packed lines of a place as written.
    pub(super) fn add_air(&mut self, air: &'a Air) {
        for layer in [&air.base, &air.tail] {
            self.add(Source::Packed(&air.name, layer, 0..layer.len()));
        }
    }

    /// Adds lines that are no packed ones, in fold order.
    pub(super) fn add_full(&mut self, standing: &'a [Standing]) {
        self.add(Source::Full(standing));
    }

    fn add(&mut self, source: Source<'a>) {
        if source.len() > 0 {
            self.0.push(source);
        }
    }

    /// Only those from a day on.
    #[must_use]
    pub fn since(mut self, day: NaiveDate) -> Self {
        for source in &mut self.0 {
            match source {
                Source::Packed(_, layer, range) => {
                    range.start = layer.first_on(day).clamp(range.start, range.end);
                }
                Source::Full(standing) => {
                    *standing = &standing[standing.partition_point(|s| s.entry.at.day() < day)..];
                }
            }
        }
        self
    }

    /// Only those up to a day, that day included.
    #[must_use]
    pub fn until(mut self, day: NaiveDate) -> Self {
        for source in &mut self.0 {
            match source {
                Source::Packed(_, layer, range) => {
                    let end = day
                        .succ_opt()
                        .map_or(range.end, |next| layer.first_on(next));
                    range.end = end.clamp(range.start, range.end);
                }
                Source::Full(standing) => {
                    *standing = &standing[..standing.partition_point(|s| s.entry.at.day() <= day)];
                }
            }
        }
        self
    }

    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.iter().map(Source::len).sum()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The first (or the last) of them.
    fn one(&mut self, last: bool) -> Option<Taken<'a>> {
        let source = self.next_source(last)?;
        self.0[source].take(last)
    }

    /// The source that holds the first (or the last) reading.
    fn next_source(&self, last: bool) -> Option<usize> {
        let mut best: Option<usize> = None;
        for at in 0..self.0.len() {
            let better = match best {
                _ if self.0[at].len() == 0 => false,
                None => true,
                Some(best) => (self.0[at].key(last) < self.0[best].key(last)) != last,
            };
            if better {
                best = Some(at);
            }
        }
        best
    }
}

impl<'a> Source<'a> {
    fn len(&self) -> usize {
        match self {
            Self::Packed(_, _, range) => range.len(),
            Self::Full(standing) => standing.len(),
        }
    }

    /// Fold order of its first (or last) reading.
    fn key(&self, last: bool) -> Option<(At, crate::model::id::Id)> {
        match self {
            Self::Packed(name, layer, range) => {
                let row = if last {
                    range.end.checked_sub(1)?
                } else {
                    range.start
                };
                Some((layer.reading(name, row).at, layer.id(row)))
            }
            Self::Full(standing) => {
                let standing = if last {
                    standing.last()
                } else {
                    standing.first()
                };
                standing.map(|s| (s.entry.at, s.entry.id.clone()))
            }
        }
    }

    fn take(&mut self, last: bool) -> Option<Taken<'a>> {
        match self {
            Self::Packed(name, layer, range) => {
                let row = if last {
                    range.next_back()
                } else {
                    range.next()
                };
                row.map(|row| Taken::Packed(name, layer, row))
            }
            Self::Full(standing) => {
                let split = if last {
                    standing.split_last()
                } else {
                    standing.split_first()
                };
                let (one, rest) = split?;
                *standing = rest;
                Some(Taken::Full(one))
            }
        }
    }
}

impl<'a> Iterator for Readings<'a> {
    type Item = Reading<'a>;

    fn next(&mut self) -> Option<Self::Item> {
        self.one(false)?.reading()
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        (self.len(), Some(self.len()))
    }
}

impl DoubleEndedIterator for Readings<'_> {
    fn next_back(&mut self) -> Option<Self::Item> {
        self.one(true)?.reading()
    }
}

impl ExactSizeIterator for Readings<'_> {}
