//! A season in review: what was planned and what came of it, which methods did better, and what the figures
//! suggest for the next. Pure; it words nothing and ranks nothing by luck.

mod advice;
mod methods;
mod sums;

pub use advice::{Advice, ENOUGH};
pub use methods::{Arm, METHODS, Method};
pub use sums::{Kind, Planned, Sum};

use crate::fold::Book;
use crate::model::filter::Filter;
use chrono::{Datelike, Days, NaiveDate};

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The season: the nursery's year of sticking.
    pub season: i32,
    /// As it stood at the end of this day.
    pub as_of: NaiveDate,
    /// The batches meant; its season is left aside.
    pub filter: Filter,
    /// Arrangements drawn for a comparison when there are too many to look at all.
    pub draws: usize,
    /// Seed of the drawing.
    pub seed: u64,
}

impl Options {
    /// Of a season, all of it as it stood that day.
    #[must_use]
    pub fn of(season: i32, as_of: NaiveDate) -> Self {
        Self {
            season,
            as_of,
            filter: Filter::default(),
            draws: crate::stats::permute::DRAWS,
            seed: 1,
        }
    }
}

/// A season in review.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// The nursery's year.
    pub season: i32,
    /// Its first day.
    pub from: NaiveDate,
    /// Its last.
    pub to: NaiveDate,
    /// The day as of which it is told.
    pub as_of: NaiveDate,
    /// The seed that arrangements were drawn with.
    pub seed: u64,
    /// All batches stuck in it.
    pub whole: Sum,
    /// How many taxa.
    pub taxa: usize,
    /// What was wanted by a day of it.
    pub planned: Vec<Planned>,
    /// Each taxon at each wood stage, by name.
    pub kinds: Vec<Kind>,
    /// Ways of doing it compared, of the taxa stuck in it, from all batches stuck up to its end; by taxon,
    /// then key.
    pub methods: Vec<Method>,
    /// Pairs left out because one way was still rooting when the other was last seen.
    pub still_rooting: usize,
    /// What to change, each from figures above.
    pub advice: Vec<Advice>,
}

/// The review asked for. `go_on` is told how much is done, of how much, and says whether to go on; `None` if
/// it said no.
///
/// The same book gives the same answer to the bit.
pub fn review(
    book: &Book,
    options: &Options,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Review> {
    let [from, to] = days(book, options.season);
    let seen = sums::Seen::new(book, options);
    let planned = sums::planned(book, options, &seen, [from, to]);
    let kinds = sums::kinds(book, options, &seen)?;
    let (methods, still_rooting) = methods::methods(book, options, &kinds, to, go_on)?;
    let advice = advice::advice(&planned, &kinds, &methods);
    Some(Review {
        season: options.season,
        from,
        to,
        as_of: options.as_of,
        seed: options.seed,
        whole: seen.whole(),
        taxa: seen.taxa(),
        planned,
        kinds,
        methods,
        still_rooting,
        advice,
    })
}

/// The seasons in which anything was stuck that the filter admits, its season left aside.
#[must_use]
pub fn seasons(book: &Book, filter: &Filter) -> Vec<i32> {
    let filter = Filter {
        season: None,
        ..filter.clone()
    };
    let admitted = book.batches().iter();
    let admitted = admitted.filter(|batch| filter.admits(book, batch));
    let mut years: Vec<i32> = admitted.map(|batch| book.season(batch.stuck_on)).collect();
    years.sort_unstable();
    years.dedup();
    years
}

/// The first and the last day of a season.
fn days(book: &Book, season: i32) -> [NaiveDate; 2] {
    let (month, day) = book
        .nursery()
        .season_from
        .map_or((1, 1), |from| (from.month, from.day));
    let first = |year| {
        let exact = NaiveDate::from_ymd_opt(year, month, day);
        // A season from 29 February begins a day sooner in a year without one.
        exact.or_else(|| NaiveDate::from_ymd_opt(year, month, day.saturating_sub(1)))
    };
    let begins = first(season).unwrap_or_default();
    let next = first(season.saturating_add(1)).unwrap_or(NaiveDate::MAX);
    [
        begins,
        next.checked_sub_days(Days::new(1)).unwrap_or(begins),
    ]
}

/// A year of which days can be told.
#[must_use]
pub fn is_season(year: i32) -> bool {
    (NaiveDate::MIN.year() + 2..NaiveDate::MAX.year() - 1).contains(&year)
}
