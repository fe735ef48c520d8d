//! The readings of one place in time order, packed lines and whole ones together.

use super::layer::Layer;
use super::reading::ClimateReading;
use crate::fold::settle::Standing;
use crate::model::at::At;
use crate::model::entry::Climate;
use chrono::NaiveDate;
use std::ops::Range;
use std::sync::Arc;

/// The packed lines of one place as written: the bulk of them, and those that came lately. Shared, never copied.
#[derive(Clone, Debug)]
pub struct PackedPlace {
    pub(super) name: Arc<str>,
    pub(super) base: Arc<Layer>,
    pub(super) tail: Arc<Layer>,
}

impl PackedPlace {
    /// The place as written.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    pub(super) fn len(&self) -> usize {
        self.base.len() + self.tail.len()
    }
}

/// A climate line that is not packed as a reading.
#[derive(Clone, Debug)]
pub struct WholeReading {
    standing: Standing,
    climate: Climate,
}

impl WholeReading {
    /// The line, if it is one.
    pub(crate) fn new(standing: Standing) -> Option<Self> {
        let climate = standing.entry.get()?;
        Some(Self { standing, climate })
    }

    /// When it was read.
    pub(crate) fn at(&self) -> At {
        self.standing.entry.at
    }

    /// The place as written.
    pub(crate) fn place(&self) -> &str {
        &self.climate.place
    }
}

/// Readings of one place in time order, from either end.
#[derive(Clone, Debug, Default)]
pub struct ClimateReadings<'a>(Vec<Source<'a>>);

/// Readings of one kind of store, sorted.
#[derive(Clone, Debug)]
enum Source<'a> {
    Packed(&'a str, &'a Layer, Range<usize>),
    Whole(&'a [WholeReading]),
}

impl<'a> ClimateReadings<'a> {
    /// Adds the packed lines of a place as written.
    pub(crate) fn add_air(&mut self, air: &'a PackedPlace) {
        for layer in [&air.base, &air.tail] {
            self.add(Source::Packed(&air.name, layer, 0..layer.len()));
        }
    }

    /// Adds lines that are no packed ones, in fold order.
    pub(crate) fn add_whole(&mut self, lines: &'a [WholeReading]) {
        self.add(Source::Whole(lines));
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
                Source::Whole(lines) => {
                    *lines = &lines[lines.partition_point(|it| it.at().day() < day)..];
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
                Source::Whole(lines) => {
                    *lines = &lines[..lines.partition_point(|it| it.at().day() <= day)];
                }
            }
        }
        self
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
            Self::Whole(lines) => lines.len(),
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
            Self::Whole(lines) => {
                let line = if last { lines.last() } else { lines.first() };
                line.map(|it| (it.at(), it.standing.entry.id.clone()))
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
            Self::Whole(lines) => {
                let split = if last {
                    lines.split_last()
                } else {
                    lines.split_first()
                };
                let (one, rest) = split?;
                *lines = rest;
                Some(Taken::Whole(one))
            }
        }
    }
}

impl<'a> Iterator for ClimateReadings<'a> {
    type Item = ClimateReading<'a>;

    fn next(&mut self) -> Option<Self::Item> {
        self.one(false)?.reading()
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        let left = self.0.iter().map(Source::len).sum();
        (left, Some(left))
    }
}

impl DoubleEndedIterator for ClimateReadings<'_> {
    fn next_back(&mut self) -> Option<Self::Item> {
        self.one(true)?.reading()
    }
}

impl ExactSizeIterator for ClimateReadings<'_> {}

/// A line taken from its store.
pub(super) enum Taken<'a> {
    /// A row of a layer, at a place.
    Packed(&'a str, &'a Layer, usize),
    /// A line kept whole.
    Whole(&'a WholeReading),
}

impl<'a> Taken<'a> {
    pub(super) fn reading(&self) -> Option<ClimateReading<'a>> {
        match self {
            Self::Packed(name, layer, row) => Some(layer.reading(name, *row)),
            Self::Whole(line) => Some(ClimateReading::from_entry(line.at(), &line.climate)),
        }
    }

    fn standing(&self) -> Standing {
        match self {
            // What was amended is never packed.
            Self::Packed(name, layer, row) => Standing {
                entry: layer.entry(name, *row).into(),
                origin: layer.origin(*row),
                amended: false,
            },
            Self::Whole(line) => line.standing.clone(),
        }
    }
}

/// The lines of [`ClimateReadings`] as whole entries.
#[derive(Clone, Debug, Default)]
pub struct Standings<'a>(ClimateReadings<'a>);

impl<'a> ClimateReadings<'a> {
    /// The lines whole, in the same order.
    #[must_use]
    pub fn standings(self) -> Standings<'a> {
        Standings(self)
    }
}

impl Iterator for Standings<'_> {
    type Item = Standing;

    fn next(&mut self) -> Option<Self::Item> {
        self.0.one(false).map(|taken| taken.standing())
    }
}

impl DoubleEndedIterator for Standings<'_> {
    fn next_back(&mut self) -> Option<Self::Item> {
        self.0.one(true).map(|taken| taken.standing())
    }
}
