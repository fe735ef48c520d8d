//! At which wood stages a taxon is stuck here, and when in the year. It knows no botany: only what the journal did.

use crate::analysis::expect::Model;
use crate::fold::Book;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use chrono::{Datelike, NaiveDate};
use serde::{Serialize, Serializer};

/// Days of the year on which a stage was stuck, first to last; it may run over the new year. A day is known by its month and
/// day, so that leap years move none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct StickingWindow {
    /// The first.
    pub first: YearDay,
    /// The last.
    pub last: YearDay,
    /// How many batches it rests on.
    pub batches: usize,
    /// Whether they are of the taxon itself; else of all taxa at that stage.
    pub own: bool,
}

/// Fewer batches of the taxon than this do not make a season of its own.
const FEWEST: usize = 3;
/// A day of the year, as its number in a leap year: 1 to 366, whatever the year it was taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct YearDay(u32);

impl YearDay {
    /// Any leap year.
    const LEAP: i32 = 2024;

    /// The month and day of a date.
    #[must_use]
    pub fn new(day: NaiveDate) -> Self {
        let day = NaiveDate::from_ymd_opt(Self::LEAP, day.month(), day.day());
        Self(day.map_or(1, |day| day.ordinal()))
    }

    /// Its month and day of the month.
    fn month_day(self) -> (u32, u32) {
        let day = NaiveDate::from_yo_opt(Self::LEAP, self.0).unwrap_or_default();
        (day.month(), day.day())
    }

    /// The date of this day in a year; 28 February for the 29th in a common year.
    #[must_use]
    pub fn in_year(self, year: i32) -> Option<NaiveDate> {
        let (month, day) = self.month_day();
        NaiveDate::from_ymd_opt(year, month, day)
            .or_else(|| NaiveDate::from_ymd_opt(year, month, day.saturating_sub(1)))
    }
}

impl Serialize for YearDay {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let (month, day) = self.month_day();
        to.collect_str(&format_args!("{month:02}-{day:02}"))
    }
}

/// Days in a year, nearly.
const YEAR: u32 = 366;

impl StickingWindow {
    /// The window of a taxon at a wood stage, from what was stuck by a day; nothing if the stage was never stuck or is not
    /// recorded.
    #[must_use]
    pub fn for_taxon(
        book: &Book,
        taxon: &Taxon,
        wood: Option<Wood>,
        on: NaiveDate,
    ) -> Option<Self> {
        let wood = wood?;
        let all = || {
            let of_stage = book.batches().iter().filter(|b| b.stick.wood == Some(wood));
            of_stage.filter(|b| b.stuck_on <= on)
        };
        let days: Vec<u32> = all()
            .filter(|b| b.taxon.key() == taxon.key())
            .map(|b| YearDay::new(b.stuck_on).0)
            .collect();
        let own = days.len() >= FEWEST;
        let days = if own {
            days
        } else {
            all().map(|b| YearDay::new(b.stuck_on).0).collect()
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
            first: YearDay(days[(longest + 1) % count]),
            last: YearDay(days[longest]),
            batches,
            own,
        })
    }

    /// Whether a day lies in it.
    #[must_use]
    pub fn holds(&self, day: NaiveDate) -> bool {
        let day = YearDay::new(day);
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
        Some((self.first.in_year(year)?, self.last.in_year(year)?))
    }
}

/// The wood stages at which a taxon was ever stuck; failing that those of the journal; failing that not recorded.
pub(super) fn stages(book: &Book, model: &Model, taxon: &Taxon) -> Vec<Option<Wood>> {
    let stuck = || book.batches().iter().filter(|b| b.stuck_on <= model.on());
    let mut own: Vec<Option<Wood>> = stuck()
        .filter(|b| b.taxon.key() == taxon.key())
        .map(|b| b.stick.wood)
        .collect();
    if own.is_empty() {
        own = stuck().map(|b| b.stick.wood).collect();
    }
    if own.iter().any(Option::is_some) {
        own.retain(Option::is_some);
    }
    own.sort_unstable();
    own.dedup();
    if own.is_empty() { vec![None] } else { own }
}
