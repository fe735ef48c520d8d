//! A round: the batches of a place in the order of walking, and how far it has come.

use crate::fold::Book;
use crate::model::id::Id;

/// A round.
#[derive(Clone, Debug)]
pub struct Round {
    place: String,
    keys: Vec<Id>,
    at: usize,
}

impl Round {
    /// A round of these batches beginning with one of them; nothing if it is none of them.
    #[must_use]
    pub fn new(place: &str, keys: Vec<Id>, from: &Id) -> Option<Self> {
        let at = keys.iter().position(|key| key == from)?;
        Some(Self {
            place: place.to_owned(),
            keys,
            at,
        })
    }

    /// The batch in hand.
    #[must_use]
    pub fn here(&self) -> &Id {
        // `at` is the place of a key since `new`, and `next` keeps it so.
        &self.keys[self.at]
    }

    /// On to the next batch that is still open; whether there is one.
    pub fn next(&mut self, book: &Book) -> bool {
        let open = |key: &Id| book.batch(key).is_some_and(|batch| batch.is_open());
        let after = (self.at + 1..self.keys.len()).find(|at| open(&self.keys[*at]));
        if let Some(at) = after {
            self.at = at;
        }
        after.is_some()
    }

    /// Back to the batch before that is still open; whether there is one.
    pub fn before(&mut self, book: &Book) -> bool {
        let open = |key: &Id| book.batch(key).is_some_and(|batch| batch.is_open());
        let before = (0..self.at).rev().find(|at| open(&self.keys[*at]));
        if let Some(at) = before {
            self.at = at;
        }
        before.is_some()
    }

    /// How far it is: `12 of 40`.
    #[must_use]
    pub fn how_far(&self) -> String {
        format!("{} of {}", self.at + 1, self.keys.len())
    }

    /// The place's name, as the heading says it.
    #[must_use]
    pub fn place_words(&self) -> &str {
        if self.place.is_empty() {
            "no place said"
        } else {
            &self.place
        }
    }
}
