//! When in the year a nursery sticks wood of a stage. It knows no botany: only what the journal did.

use crate::fold::Book;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use chrono::{Datelike, Days, NaiveDate};

/// Days of the year on which a stage was stuck, first to last; it may run over the new year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StickingWindow {
    /// The first, 1 to 366.
    pub first: u32,
    /// The last.
    pub last: u32,
    /// How many batches tell.
    pub batches: usize,
    /// Whether they are of the taxon itself; else of all taxa at that stage.
    pub own: bool,
}

/// SmallerPlan batches of the taxon than this do not make a season of its own.
const FEWEST: usize = 3;
/// Days in a year, nearly.
const YEAR: u32 = 366;

impl StickingWindow {
    /// Of a taxon and stage by a day; nothing if the stage was never stuck or is not recorded.
    #[must_use]
    pub fn of(book: &Book, taxon: &Taxon, wood: Option<Wood>, on: NaiveDate) -> Option<Self> {
        let wood = wood?;
        let all = || {
            let of_stage = book.batches().iter().filter(|b| b.stick.wood == Some(wood));
            of_stage.filter(|b| b.stuck_on <= on)
        };
        let days: Vec<u32> = all()
            .filter(|b| b.taxon.key() == taxon.key())
            .map(|b| b.stuck_on.ordinal())
            .collect();
        let own = days.len() >= FEWEST;
        let days = if own {
            days
        } else {
            all().map(|b| b.stuck_on.ordinal()).collect()
        };
        Self::around(days, own)
    }

    /// The days from the end of the longest gap in the year to its beginning.
    fn around(mut days: Vec<u32>, own: bool) -> Option<Self> {
        let batches = days.len();
        days.sort_unstable();
        days.dedup();
        let count = days.len();
        let gap = |at: usize| match at + 1 {
            next if next < count => days[next] - days[at],
            _ => days[0] + YEAR - days[at],
        };
        let longest = (0..count).rev().max_by_key(|&at| gap(at))?;
        Some(Self {
            first: days[(longest + 1) % count],
            last: days[longest],
            batches,
            own,
        })
    }

    /// Whether a day lies in it.
    #[must_use]
    pub fn holds(&self, day: NaiveDate) -> bool {
        let day = day.ordinal();
        if self.first <= self.last {
            (self.first..=self.last).contains(&day)
        } else {
            day >= self.first || day <= self.last
        }
    }

    /// The last of its days from one day to another.
    #[must_use]
    pub fn last_within(&self, from: NaiveDate, until: NaiveDate) -> Option<NaiveDate> {
        let mut days = until.iter_days().rev().take_while(|day| *day >= from);
        days.find(|day| self.holds(*day))
    }

    /// The first of its days from one day on.
    #[must_use]
    pub fn next(&self, from: NaiveDate) -> NaiveDate {
        let mut days = from.iter_days().take(YEAR as usize);
        days.find(|day| self.holds(*day)).unwrap_or(from)
    }

    /// Its first and last day in the year of a day.
    #[must_use]
    pub fn days_in(&self, year: i32) -> Option<(NaiveDate, NaiveDate)> {
        let first = NaiveDate::from_ymd_opt(year, 1, 1)?;
        let on = |ordinal: u32| first.checked_add_days(Days::new(u64::from(ordinal - 1)));
        Some((on(self.first)?, on(self.last)?))
    }
}
