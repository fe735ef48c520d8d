//! A season in review: what was planned and what came of it, which methods did better, and what the figures
//! suggest for the next. Pure; it words nothing and ranks nothing by luck.

mod advice;
mod methods;
mod sums;

pub use advice::Advice;
pub use methods::{WayArm, WayComparison};
pub use sums::ReviewOptions;
pub use sums::{BatchSums, KindReview, TargetProgress};

use crate::analysis::expect::Model;
use crate::fold::Book;
use crate::model::filter::Filter;
use chrono::{Datelike, Days, NaiveDate};
use serde::Serialize;

/// A season in review.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Review {
    /// The nursery's year.
    pub season: i32,
    /// Its first day.
    pub from: NaiveDate,
    /// Its last.
    pub to: NaiveDate,
    /// The day whose knowledge it rests on.
    pub as_of: NaiveDate,
    /// The seed that arrangements were drawn with.
    pub seed: u64,
    /// How many taxa.
    pub taxa: usize,
    /// All batches stuck in it.
    #[serde(rename = "sums")]
    pub whole: BatchSums,
    /// What was wanted by a day of it.
    #[serde(rename = "wanted")]
    pub planned: Vec<TargetProgress>,
    /// Each taxon at each wood stage, by name.
    pub kinds: Vec<KindReview>,
    /// Ways of doing it compared, of the taxa stuck in it, from all batches stuck up to its end; by taxon,
    /// then key.
    #[serde(rename = "ways")]
    pub methods: Vec<WayComparison>,
    /// Pairs left out because one way was still rooting when the other was last seen.
    pub still_rooting: usize,
    /// What to change, each from figures above.
    #[serde(rename = "next")]
    pub advice: Vec<Advice>,
}

/// The review asked for. `go_on` receives how many steps are done and how many there are, and returns
/// whether to go on; the answer is `None` if it returns false.
///
/// The same book gives the same answer to the bit.
pub fn review(
    book: &Book,
    options: &ReviewOptions,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Review> {
    let [from, to] = days(book, options.season);
    let seen = sums::SeasonBatches::new(book, options);
    let planned = sums::planned(book, options, &seen, [from, to]);
    let model = Model::learn(book, options.as_of, &[]);
    let kinds = sums::kinds(book, options, &seen, (&model, to))?;
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
    let admits = filter.within(book);
    let admitted = admitted.filter(|batch| admits(batch));
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

/// A year that the calendar can hold.
#[must_use]
pub fn is_season(year: i32) -> bool {
    (NaiveDate::MIN.year() + 2..NaiveDate::MAX.year() - 1).contains(&year)
}
