//! Climate lines as the entries that they are, with their lines: for those who read the journal itself.

use super::{Layer, Reading, Readings, Standing};
use std::sync::Arc;

/// A line taken from its store.
pub(super) enum Taken<'a> {
    /// A row of a layer, at a place.
    Packed(&'a str, &'a Layer, usize),
    /// A line kept whole.
    Full(&'a Standing),
}

impl<'a> Taken<'a> {
    pub(super) fn reading(&self) -> Option<Reading<'a>> {
        match self {
            Self::Packed(name, layer, row) => Some(layer.reading(name, *row)),
            Self::Full(standing) => match &standing.entry.kind {
                super::Kind::Climate(it) => Some(Reading::of(standing.entry.at, it)),
                _ => None,
            },
        }
    }

    fn standing(&self) -> Standing {
        match self {
            // What was amended is never packed.
            Self::Packed(name, layer, row) => Standing {
                entry: Arc::new(layer.entry(name, *row)),
                origin: layer.origin(*row),
                amended: false,
            },
            Self::Full(standing) => (*standing).clone(),
        }
    }
}

/// The same lines as [`Readings`], whole.
#[derive(Clone, Debug, Default)]
pub struct Standings<'a>(Readings<'a>);

impl<'a> Readings<'a> {
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
