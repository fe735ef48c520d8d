//! Shows days and times: `3 Jun`, never 03/06. It knows no clock: today is an argument.

use crate::fold::Book;
use crate::model::at::At;
use crate::model::composite::MonthDay;
use chrono::{Datelike, NaiveDate};

/// The months' names, January first; their first three letters are their short form.
pub const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// The weekdays' names, Monday first (ISO 8601); their first three letters are their short form.
pub const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// Days ahead for which the weekday is said.
const FORTNIGHT: i64 = 14;

/// A day of any year: `3 Jun`.
#[must_use]
pub fn day_month(day: NaiveDate) -> String {
    format!("{} {}", day.day(), day.format("%b"))
}

/// What showing a day depends on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// The present day at the nursery.
    pub today: NaiveDate,
    /// The day on which its season begins.
    pub season_from: MonthDay,
}

impl Calendar {
    /// Of a book's nursery on a day: where it does not say when its season begins, with the year.
    #[must_use]
    pub fn for_book(book: &Book, today: NaiveDate) -> Self {
        let january = MonthDay { month: 1, day: 1 };
        Self {
            today,
            season_from: book.nursery().season_from.unwrap_or(january),
        }
    }

    /// The year in which the season that holds `day` began.
    #[must_use]
    pub fn season(&self, day: NaiveDate) -> i32 {
        let begun = (day.month(), day.day()) >= (self.season_from.month, self.season_from.day);
        if begun { day.year() } else { day.year() - 1 }
    }

    /// A day: `Tue 1 Dec` from today to a fortnight ahead, else `3 Jun`, with the year when it lies
    /// in another season: `3 Jun 2025`.
    #[must_use]
    pub fn day(&self, day: NaiveDate) -> String {
        let plain = format!("{} {}", day.day(), day.format("%b"));
        let ahead = (day - self.today).num_days();
        if (0..=FORTNIGHT).contains(&ahead) {
            return format!("{} {plain}", day.format("%a"));
        }
        if self.season(day) == self.season(self.today) {
            plain
        } else {
            format!("{plain} {}", day.year())
        }
    }

    /// A word where the day of an entry has yet to come; such an entry is kept, since clocks may differ.
    #[must_use]
    pub fn yet_to_come(&self, day: NaiveDate) -> Option<String> {
        let said = || format!("It is dated {}, which has yet to come.", self.day(day));
        (day > self.today).then(said)
    }

    /// The day of an entry of an earlier day, and how long ago that was, so that a slip of the year is seen.
    #[must_use]
    pub fn earlier(&self, day: NaiveDate) -> Option<String> {
        let days = (self.today - day).num_days();
        let ago = match days {
            ..1 => return None,
            1 => "yesterday".to_owned(),
            _ => format!("{days} days ago"),
        };
        Some(format!("Dated {}, {ago}.", self.day(day)))
    }

    /// The time of an entry: its day, and the local clock as written if it has one: `3 Jun 16:30`.
    #[must_use]
    pub fn at(&self, at: &At) -> String {
        let day = self.day(at.day());
        match at.local() {
            Some(local) => format!("{day} {}", local.format("%H:%M")),
            None => day,
        }
    }
}
