//! The stored calibration: of this program's answers, whole, and as the page for contributors shows it.

#[path = "../../calibration/fingerprint.rs"]
mod fingerprint;
#[path = "../../calibration/rows.rs"]
mod rows;
#[path = "../../calibration/table.rs"]
mod table;

use crate::support::simulated;
use std::path::Path;

fn read(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

#[test]
fn the_stored_calibration_was_made_with_these_answers() {
    let file = read("tests/data/calibration.csv");
    let (made_with, _) = table::stored(&file);
    assert_eq!(
        made_with,
        fingerprint::fingerprint(),
        "answers have changed since tests/data/calibration.csv was made: run `cargo bench --bench calibration`"
    );
}

/// The page shows the stored figures, all of them and no others; and none of what is to be tried is missing.
#[test]
fn the_tests_page_shows_the_stored_calibration() {
    let file = read("tests/data/calibration.csv");
    let (_, rows) = table::stored(&file);
    let lines: Vec<&str> = file.lines().skip(1).collect();
    assert_eq!(lines[0], rows::HEAD);
    let again: Vec<String> = rows.iter().map(rows::Row::line).collect();
    assert_eq!(lines[1..], again);
    assert_eq!(table::parts(&read("tests/README.md"))[1], table::of(&rows));
    for tried in [
        "timeline of 1 batches",
        "timeline of 5 batches",
        "timeline of 10 batches",
        "4 batches of 12 against 12 of 48",
        "4 batches of 12 against 12 of 24",
        "3 batches against 9",
        "5 batches against 5",
        "4 against 12 with three times the spread",
        "6 against 6 stuck on successive days, looked at on one",
        "trials laid out from 12 batches",
        "plans, seasons alike, plants in lots",
        "plans, odd seasons, plants in lots",
        "batches just stuck, odd seasons",
        "failing, trays of 40 each week",
        "air, places of their own luck",
        "air, and a season's luck that goes with its weather",
        "nursery, when stuck",
        "nursery, 25 % of looks",
        "nursery, 50 % of looks",
        "nursery, 75 % of looks",
        "nursery, days of its first season",
        "nursery, days of later seasons",
        "simulated, when stuck",
        "simulated, semi-ripe 1.5 times as long, days of its first season",
    ] {
        assert!(rows.iter().any(|row| row.about == tried), "{tried}");
    }
}
