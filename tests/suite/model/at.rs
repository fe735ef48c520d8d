//! Days and times as entries write them, against the reader of the calendar's own library.

use chrono::{DateTime, NaiveDate};
use proptest::prelude::*;
use struck::model::at::{At, day};

#[test]
fn four_digits_of_year_and_no_other_shape() {
    for text in [
        "2026-6-14",
        "26-06-14",
        "2026-06-14 ",
        "2026/06/14",
        "+026-06-14",
        "2026-02-30",
        "２026-1-1",
    ] {
        assert_eq!(day(text), None, "{text}");
    }
    assert!(day("2024-02-29").is_some());
}

proptest! {
    #[test]
    fn days_are_those_of_the_calendar(text in "[0-9]{4}-[0-3][0-9]-[0-4][0-9]") {
        prop_assert_eq!(day(&text), NaiveDate::parse_from_str(&text, "%Y-%m-%d").ok());
    }

    #[test]
    fn times_to_the_second_are_those_of_rfc_3339(
        text in "[0-9]{4}-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-6][0-9]:[0-5][0-9][+-][0-2][0-9]:[0-6][0-9]",
    ) {
        let read = DateTime::parse_from_rfc3339(&text).ok().map(At::Time);
        prop_assert_eq!(At::parse(&text), read);
    }
}
