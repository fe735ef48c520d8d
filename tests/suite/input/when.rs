//! Typed days and times, and how they are shown again.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime};
use proptest::prelude::*;
use struck::input::when::{DayLean, NotADay, read};
use struck::model::at::At;
use struck::model::composite::MonthDay;
use struck::text::dates::Calendar;

/// Wednesday 25 November 2026, a quarter past nine, an hour east of Greenwich.
fn now() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-11-25T09:15:00+01:00").unwrap()
}

/// Summer time as the European Union keeps it in 2025 and 2026 (Directive 2000/84/EC: from the last
/// Sunday of March to the last of October), an hour east of Greenwich otherwise.
fn offset(local: NaiveDateTime) -> FixedOffset {
    let between = |from: &str, to: &str| {
        let stamp = local.format("%Y-%m-%dT%H").to_string();
        stamp.as_str() >= from && stamp.as_str() < to
    };
    let summer =
        between("2025-03-30T02", "2025-10-26T03") || between("2026-03-29T02", "2026-10-25T03");
    FixedOffset::east_opt(if summer { 7200 } else { 3600 }).unwrap()
}

fn back(text: &str) -> Result<String, NotADay> {
    read(text, now(), DayLean::Back, offset).map(|at| at.to_string())
}

fn ahead(text: &str) -> Result<String, NotADay> {
    read(text, now(), DayLean::Ahead, offset).map(|at| at.to_string())
}

const UNDERSTOOD: [(&str, &str); 38] = [
    ("Tue 1 Dec 2026 8:00", "2026-12-01T08:00:00+01:00"),
    ("today", "2026-11-25"),
    (" Yesterday ", "2026-11-24"),
    ("yesterday 16:30", "2026-11-24T16:30:00+01:00"),
    ("yesterday at 4:30 pm", "2026-11-24T16:30:00+01:00"),
    ("now", "2026-11-25T09:15:00+01:00"),
    ("16:30", "2026-11-25T16:30:00+01:00"),
    ("7:05", "2026-11-25T07:05:00+01:00"),
    ("12am", "2026-11-25T00:00:00+01:00"),
    ("12pm", "2026-11-25T12:00:00+01:00"),
    ("-3", "2026-11-22"),
    ("-0", "2026-11-25"),
    ("3 days ago", "2026-11-22"),
    ("2 weeks ago 8:00", "2026-11-11T08:00:00+01:00"),
    ("monday", "2026-11-23"),
    ("mon", "2026-11-23"),
    ("last Monday", "2026-11-23"),
    ("wednesday", "2026-11-18"),
    ("thursday", "2026-11-19"),
    ("Sun 10:00", "2026-11-22T10:00:00+01:00"),
    ("3 Jun", "2026-06-03"),
    ("3jun", "2026-06-03"),
    ("June 3rd", "2026-06-03"),
    ("3 june 2025", "2025-06-03"),
    ("June 3, 2025", "2025-06-03"),
    ("the 3rd of June", "2026-06-03"),
    ("3 jun 16:30", "2026-06-03T16:30:00+02:00"),
    ("25 nov", "2026-11-25"),
    ("26 nov", "2025-11-26"),
    ("31 dec", "2025-12-31"),
    ("29 feb", "2024-02-29"),
    ("2026-06-14", "2026-06-14"),
    ("2026-06-14 16:30", "2026-06-14T16:30:00+02:00"),
    ("2026-06-14T16:30", "2026-06-14T16:30:00+02:00"),
    ("2026-06-14T16:30:15+09:30", "2026-06-14T16:30:15+09:30"),
    ("2026-06-14t16:30:00z", "2026-06-14T16:30:00+00:00"),
    ("2026-03-29 01:59", "2026-03-29T01:59:00+01:00"),
    ("2026-03-29 03:00", "2026-03-29T03:00:00+02:00"),
];

#[test]
fn days_and_times_are_understood() {
    for (typed, at) in UNDERSTOOD {
        assert_eq!(back(typed).as_deref(), Ok(at), "{typed}");
    }
}

#[test]
fn what_is_to_come_is_looked_for_ahead() {
    for (typed, at) in [
        ("monday", "2026-11-30"),
        ("wednesday", "2026-12-02"),
        ("thursday", "2026-11-26"),
        ("tomorrow 8:00", "2026-11-26T08:00:00+01:00"),
        ("3 Jun", "2027-06-03"),
        ("25 nov", "2026-11-25"),
        ("29 feb", "2028-02-29"),
        ("+14", "2026-12-09"),
        ("last friday", "2026-11-20"),
        ("2027-05-01", "2027-05-01"),
    ] {
        assert_eq!(ahead(typed).as_deref(), Ok(at), "{typed}");
    }
    assert_eq!(back("next friday").as_deref(), Ok("2026-11-27"));
}

#[test]
fn figures_alone_are_refused_with_both_readings() {
    for (typed, ways) in [
        ("03/06", "'3 Jun' or '6 Mar'"),
        ("3.6.", "'3 Jun' or '6 Mar'"),
        ("03/06/2026", "'3 Jun' or '6 Mar'"),
        ("25/06", "'25 Jun'"),
        ("6-6", "'6 Jun'"),
    ] {
        assert_eq!(
            back(typed),
            Err(NotADay::Figures(typed.to_owned(), ways.to_owned())),
        );
    }
    let text = back("03/06 16:30").unwrap_err().to_string();
    assert_eq!(
        text,
        "'03/06' has its month in figures, which can be read two ways. Type it as a word: '3 Jun' or '6 Mar'."
    );
}

#[test]
fn refusals_name_what_was_not_understood() {
    assert_eq!(back("  "), Err(NotADay::Empty));
    for typed in [
        "31 jun",
        "29 feb 2026",
        "0 jun",
        "2026-02-30",
        "-9999999",
        "45/77",
        "2026-6-1",
        "mon 1 dec 2026",
    ] {
        assert_eq!(back(typed), Err(NotADay::NoSuchDay(typed.to_owned())));
    }
    for typed in ["25:00", "16:60", "0pm", "13pm", "16:3", "1:2:3"] {
        assert_eq!(back(typed), Err(NotADay::NoSuchTime(typed.to_owned())));
    }
    for (typed, word, meant) in [
        ("yesteday", "yesteday", Some("yesterday")),
        ("3 jnue", "jnue", Some("June")),
        ("16", "16", None),
        ("pm", "pm", None),
        ("3 jun jul", "jul", None),
        ("2feb -024", "-024", None),
        ("2 feb +024", "+024", None),
        ("2 feb 0000", "0000", None),
        ("june", "june", Some("June")),
        ("by the gate", "by", None),
    ] {
        let refusal = back(typed).unwrap_err();
        assert!(
            matches!(&refusal, NotADay::Unknown(w, _) if w == word),
            "{typed}: {refusal:?}"
        );
        if let Some(meant) = meant {
            assert!(refusal.to_string().contains(meant), "{refusal}");
        }
    }
    let text = back("yesteday").unwrap_err().to_string();
    assert_eq!(
        text,
        "'yesteday' is not understood as a day or time. Is it 'yesterday'? Type for example: today, \
         yesterday 16:30, 3 Jun, 2026-06-14, monday, -3."
    );
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

#[test]
fn days_are_shown_with_what_tells_them_apart() {
    let calendar = Calendar {
        today: day("2026-11-25"),
        season_from: MonthDay { month: 1, day: 1 },
    };
    for (date, text) in [
        ("2026-06-03", "3 Jun"),
        ("2025-06-03", "3 Jun 2025"),
        ("2026-11-24", "24 Nov"),
        ("2026-11-25", "Wed 25 Nov"),
        ("2026-12-01", "Tue 1 Dec"),
        ("2026-12-09", "Wed 9 Dec"),
        ("2026-12-10", "10 Dec"),
        ("2027-01-02", "2 Jan 2027"),
    ] {
        assert_eq!(calendar.day(day(date)), text);
    }
    let at = At::parse("2026-06-03T16:30:00+02:00").unwrap();
    assert_eq!(calendar.at(&at), "3 Jun 16:30");
    assert_eq!(calendar.at(&At::Day(day("2026-06-03"))), "3 Jun");
}

#[test]
fn the_season_may_span_two_years() {
    let calendar = Calendar {
        today: day("2027-01-20"),
        season_from: MonthDay { month: 7, day: 1 },
    };
    assert_eq!(calendar.season(day("2026-07-01")), 2026);
    assert_eq!(calendar.season(day("2026-06-30")), 2025);
    assert_eq!(calendar.day(day("2026-08-12")), "12 Aug");
    assert_eq!(calendar.day(day("2026-06-30")), "30 Jun 2026");
    assert_eq!(calendar.day(day("2027-07-02")), "2 Jul 2027");
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,14}|[0-9a-z:/. +-]{0,14}") {
        let _ = back(&text);
        let _ = ahead(&text);
    }

    #[test]
    fn what_is_shown_is_read_again(gap in -3000i64..3000) {
        let calendar = Calendar { today: day("2026-11-25"), season_from: MonthDay { month: 1, day: 1 } };
        let date = calendar.today + chrono::Duration::days(gap);
        let text = calendar.day(date);
        let lean = if gap > 0 { DayLean::Ahead } else { DayLean::Back };
        prop_assert_eq!(read(&text, now(), lean, offset), Ok(At::Day(date)));
    }
}
