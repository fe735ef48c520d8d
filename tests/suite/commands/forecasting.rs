//! `forecast` and `plan` on the sample journals: tables at two widths, JSON, one batch at length, wait or stick again.

use super::run::Home;
use serde_json::Value;

/// The second summer: there is a year of history, and less to work through than later.
const SUMMER: &str = "2024-07-20T12:00:00+01:00";

fn summer() -> Home {
    Home::with_sample("nursery").at(SUMMER)
}

#[test]
fn open_batches_are_forecast_in_a_table() {
    for width in [80, 40] {
        let said = summer().wide(width).struck(&["forecast"]).done();
        for line in said.lines() {
            assert!(
                struck::words::clean::width(line) <= width,
                "{width}: {line}"
            );
        }
        insta::assert_snapshot!(format!("forecast-{width}"), said);
    }
}

#[test]
fn one_batch_is_told_at_length_and_as_json() {
    let said = summer()
        .struck(&["forecast", "24-018", "--want", "30", "--by", "2024-11-15"])
        .done();
    insta::assert_snapshot!(said);
    let said = summer()
        .struck(&["forecast", "escallonia", "--json"])
        .done();
    let value: Value = serde_json::from_str(&said).unwrap();
    let batches = value["batches"].as_array().unwrap();
    assert!(!batches.is_empty() && value["on"] == "2024-07-20");
    for batch in batches {
        let count = &batch["count"];
        let ends = [
            &count["p80"]["low"],
            &count["p50"]["low"],
            &count["middle"],
            &count["p50"]["high"],
            &count["p80"]["high"],
        ];
        assert!(ends.map(|end| end.as_f64().unwrap()).is_sorted(), "{batch}");
        let most = count["p80"]["high"].as_f64().unwrap();
        assert!(most <= batch["stuck"].as_f64().unwrap(), "{batch}");
    }
}

#[test]
fn a_little_journal_says_how_little_it_knows() {
    let home = Home::with_sample("first-days").at("2026-06-30T09:00:00+01:00");
    insta::assert_snapshot!("forecast-first-days", home.struck(&["forecast"]).done());
    insta::assert_snapshot!(
        "plan-first-days",
        home.struck(&["plan", "weigela", "--want", "20", "--by", "2027-09-30"])
            .done()
    );
}

#[test]
fn targets_are_planned_in_a_table_and_one_by_one() {
    for width in [80, 40] {
        let said = summer().wide(width).struck(&["plan"]).done();
        for line in said.lines() {
            assert!(
                struck::words::clean::width(line) <= width,
                "{width}: {line}"
            );
        }
        // A day that is past is told whole, however little room there is.
        assert_eq!(said.matches("too late").count(), 3, "{said}");
        insta::assert_snapshot!(format!("plan-{width}"), said);
    }
    insta::assert_snapshot!("plan-one", summer().struck(&["plan", "choisya"]).done());
}

#[test]
fn what_makes_no_sense_is_refused_with_a_hint() {
    let home = Home::with_sample("first-days");
    for arguments in [
        &["plan", "--want", "20", "--by", "2027-01-01"][..],
        &["plan", "weigela", "--want", "20"],
        &["plan", "weigela", "--want", "0", "--by", "2027-01-01"],
        &["plan", "--assurance", "1.2"],
        &["plan", "--batch", "0"],
    ] {
        let said = home.struck(arguments);
        assert_eq!(
            (said.code, said.out.as_str()),
            (2, ""),
            "{arguments:?}: {}",
            said.err
        );
    }
}
