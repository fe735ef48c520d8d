//! A round: the batches of a place in the order of walking, then those that are due at the places after it.

use crate::fold::Book;
use crate::model::id::Id;

/// A place on the round and its batches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoundStop {
    /// The place's name without a spot; empty for batches without a place.
    pub place: String,
    /// The batches looked at there, in their order; never empty.
    pub keys: Vec<Id>,
}

/// A round: a walk along the batches, the look pad opening on one after the other.
#[derive(Clone, Debug)]
pub struct Round {
    stops: Vec<RoundStop>,
    /// The stop in hand, and the batch within it.
    at: (usize, usize),
}

impl Round {
    /// A round that begins at the batch `from` of the first stop; nothing if that stop has no such batch.
    #[must_use]
    pub fn new(first: RoundStop, further: Vec<RoundStop>, from: &Id) -> Option<Self> {
        let at = first.keys.iter().position(|key| key == from)?;
        let stops = std::iter::once(first).chain(further);
        Some(Self {
            stops: stops.filter(|stop| !stop.keys.is_empty()).collect(),
            at: (0, at),
        })
    }

    /// The batch in hand.
    #[must_use]
    pub fn here(&self) -> &Id {
        // `at` is the place of a key since `new`, and `next` and `before` keep it so.
        &self.stops[self.at.0].keys[self.at.1]
    }

    /// Every stop's batches by where they stand, in the order of the round.
    fn places(&self) -> impl DoubleEndedIterator<Item = (usize, usize)> {
        let each = self.stops.iter().enumerate();
        each.flat_map(|(stop, held)| (0..held.keys.len()).map(move |at| (stop, at)))
    }

    fn is_open(&self, (stop, at): (usize, usize), book: &Book) -> bool {
        let batch = book.batch(&self.stops[stop].keys[at]);
        batch.is_some_and(|batch| batch.is_open())
    }

    /// Goes on to the next batch that is still open. Gives whether there is one.
    pub fn next(&mut self, book: &Book) -> bool {
        let here = self.at;
        let after = {
            let mut after = self.places().filter(|place| *place > here);
            after.find(|place| self.is_open(*place, book))
        };
        self.at = after.unwrap_or(here);
        after.is_some()
    }

    /// Goes back to the batch before that is still open. Gives whether there is one.
    pub fn before(&mut self, book: &Book) -> bool {
        let here = self.at;
        let before = {
            let mut before = self.places().rev().filter(|place| *place < here);
            before.find(|place| self.is_open(*place, book))
        };
        self.at = before.unwrap_or(here);
        before.is_some()
    }

    /// How far it is: `4 of 6`; with several places `4 of 6 in 2 of 3 places`, on a narrow screen `4 of 6, 2/3`.
    #[must_use]
    pub fn how_far(&self, narrow: bool) -> String {
        let all = self.places().count();
        let done = self.places().filter(|place| *place <= self.at).count();
        let (stop, stops) = (self.at.0 + 1, self.stops.len());
        match (stops, narrow) {
            (1, _) => format!("{done} of {all}"),
            (_, true) => format!("{done} of {all}, {stop}/{stops}"),
            (_, false) => format!("{done} of {all} in {stop} of {stops} places"),
        }
    }

    /// The place in hand, as the heading says it.
    #[must_use]
    pub fn place_words(&self) -> &str {
        match self.stops[self.at.0].place.as_str() {
            "" => "no place said",
            place => place,
        }
    }

    /// What is said once the last batch is passed.
    #[must_use]
    pub fn done_words(&self) -> String {
        match self.stops.len() {
            1 => format!("Round done: {}.", self.place_words()),
            stops => format!(
                "Round done: {} batches in {stops} places.",
                self.places().count()
            ),
        }
    }
}
