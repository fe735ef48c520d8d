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
            assert!(struck::text::clean::width(line) <= width, "{width}: {line}");
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
            assert!(struck::text::clean::width(line) <= width, "{width}: {line}");
        }
        // A day that is past is told whole, however little room there is.
        assert_eq!(said.matches("too late").count(), 2, "{said}");
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

#[test]
fn a_name_found_nowhere_is_told_and_a_new_one_is_planned_with_a_word() {
    let home = Home::with_sample("first-days").at("2026-06-30T09:00:00+01:00");
    for (asked, told) in [
        ("nosuch", "The journal has no taxon 'nosuch'."),
        ("26-999", "The journal has no batch '26-999'."),
        ("wiegela", "Near it: Weigela florida."),
    ] {
        let said = home.struck(&["forecast", asked]);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{asked}");
        assert!(said.err.contains(told), "{}", said.err);
    }
    let said = home.struck(&["plan", "nosuch", "--want", "10", "--by", "2027-09-30"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.err.contains("no taxon 'nosuch'"), "{}", said.err);
}

#[test]
fn wait_or_stick_again_refuses_none_wanted_and_a_day_that_has_passed() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe"]);
    let none = ["forecast", "26-001", "--want", "0", "--by", "2026-09-01"];
    assert_eq!(home.struck(&none).code, 2);
    let passed = ["forecast", "26-001", "--want", "9", "--by", "2026-05-01"];
    let said = home.struck(&passed);
    assert_eq!(said.code, 1);
    assert!(said.err.contains("That day has passed."), "{}", said.err);
}

#[test]
fn a_batch_is_not_its_own_history() {
    let home = Home::new();
    for (at, line) in [
        ("70 days ago", "stick 40 Hebe, softwood"),
        ("42 days ago", "look 001: callused 10, rooted 8, mould 6"),
        (
            "today",
            "look 001: callused 10, rooted 8, bottom 5, black 3, mould 1",
        ),
    ] {
        let said = home.struck(&["add", "--at", at, line]);
        assert_eq!(said.code, 0, "{line}: {}", said.err);
    }
    let said = home.struck(&["forecast", "001"]).done();
    assert!(said.contains("More may root late"), "{said}");
    assert!(
        said.contains("Worked out from its own looks alone"),
        "{said}"
    );
}

/// A batch that is closed has no more plants than stand in its pots.
#[test]
fn plants_in_hand_are_those_that_are_there() {
    let home = Home::new();
    for (at, line) in [
        ("60 days ago", "target 20 Hebe by 2026-12-30"),
        ("60 days ago", "stick 24 Hebe, softwood"),
        ("10 days ago", "look 001: rooted 2, bottom 2"),
        ("3 days ago", "pot 001 4"),
        ("3 days ago", "discard 001 20, given up"),
    ] {
        let said = home.struck(&["add", "--at", at, line]);
        assert_eq!(said.code, 0, "{line}: {}", said.err);
    }
    let said = home.struck(&["plan"]).done();
    let hand = said.split_once("In hand (26-001): ").expect(&said).1;
    let words: Vec<&str> = hand.split_whitespace().take(2).collect();
    let numbers = words.join(" ");
    let digits = numbers.split(|c: char| !c.is_ascii_digit());
    for number in digits.filter_map(|n| n.parse::<u32>().ok()) {
        assert!(number <= 4, "{said}");
    }
}

#[test]
fn rooted_cuttings_that_were_all_potted_are_not_ready_and_no_day_past_is_forecast() {
    let home = Home::with_sample("nursery").at("2026-08-20T12:00:00+01:00");
    let said = home.struck(&["forecast"]).done();
    let row = |code: &str| {
        let mut lines = said.lines();
        lines.find(|line| line.starts_with(code)).expect(&said)
    };
    for code in ["26-004", "26-010"] {
        assert!(!row(code).contains("ready"), "{said}");
        let told = home.struck(&["forecast", code]).done();
        assert!(
            told.contains("potted") && !told.contains("Ready to pot"),
            "{told}"
        );
        let json = home.struck(&["forecast", code, "--json"]).done();
        let json: serde_json::Value = serde_json::from_str(&json).expect(&json);
        let batch = &json["batches"][0];
        assert!(
            batch["potting"].is_null() && batch["ready_to_pot"] == false,
            "{json}"
        );
    }
    assert!(!row("26-012").contains("13 Aug"), "{said}");
}
