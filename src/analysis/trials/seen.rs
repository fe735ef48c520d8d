//! The batches that a comparison sees, each as of the right day: two seasons to the same day of the
//! year. It computes no figure.

use super::Options;
use crate::fold::Book;
use crate::fold::selection::{ExcludedBatch, IncludedBatch, Selection, select};
use crate::model::filter::GroupKey;
use chrono::{Months, NaiveDate};
use std::collections::BTreeSet;

/// What is seen.
pub(super) struct Seen<'a> {
    /// By day of sticking and key.
    pub counted: Vec<IncludedBatch<'a>>,
    pub skipped: Vec<ExcludedBatch>,
    /// The day to which the last season was seen, if seasons were cut to it.
    pub same_day: Option<NaiveDate>,
}

pub(super) fn seen<'a>(book: &'a Book, options: &Options) -> Seen<'a> {
    let (counted, skipped) = select(book, &options.about);
    let whole = Seen {
        counted,
        skipped,
        same_day: None,
    };
    if options.whole_seasons || !options.split().contains(&GroupKey::Season) {
        return whole;
    }
    let counted = whole.counted.iter().map(|it| it.batch.stuck_on);
    let skipped = whole.skipped.iter().filter_map(|it| book.batch(&it.key));
    let days = counted.chain(skipped.map(|batch| batch.stuck_on));
    let seasons: BTreeSet<i32> = days.map(|day| book.season(day)).collect();
    match (seasons.last(), last_day(book, options)) {
        (Some(&last), Some(until)) if seasons.len() > 1 => {
            to_the_day(book, options, &seasons, (last, until))
        }
        _ => whole,
    }
}

/// The day to which the journal tells.
fn last_day(book: &Book, options: &Options) -> Option<NaiveDate> {
    let told = book.batches().iter().map(|batch| batch.last_day()).max();
    options.about.as_of.or(told)
}

fn to_the_day<'a>(
    book: &'a Book,
    options: &Options,
    seasons: &BTreeSet<i32>,
    (last, until): (i32, NaiveDate),
) -> Seen<'a> {
    let mut seen = Seen {
        counted: Vec::new(),
        skipped: Vec::new(),
        same_day: Some(until),
    };
    for &season in seasons {
        let back = Months::new(12 * last.abs_diff(season));
        let mut question: Selection = options.about.clone();
        question.filter.season = Some(season);
        question.as_of = until.checked_sub_months(back);
        let (counted, skipped) = select(book, &question);
        seen.counted.extend(counted);
        seen.skipped.extend(skipped);
    }
    seen.counted
        .sort_by_key(|it| (it.batch.stuck_on, &it.batch.key));
    seen
}
