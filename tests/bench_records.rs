//! Old records: a table of 20 000 rows read, understood and written, and taken back. Run with `cargo bench --bench bench_records`;
//! it fails above two seconds for reading and writing.
//! Seen on 30 November 2026 as a run of the whole command on two processors: 0.6 to 0.9 s of processor time; by the clock 1.5 to 2.5 s while
//! eighteen other processes wanted them, so that the bench is to be run on a machine at rest.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/settings.rs"]
mod settings;

use chrono::DateTime;
use settings::settings;
use std::fmt::Write as _;
use std::time::Instant;
use struck::app::clock::Clock;
use struck::app::desk::Desk;
use struck::app::old_records::RecordsQuestion;

const ROWS: u32 = 20_000;
const LONGEST: f64 = 2.0;
const TAXA: [&str; 6] = [
    "Weigela florida",
    "Escallonia rubra",
    "Lavandula angustifolia",
    "Hebe 'Tower'",
    "Choisya ternata",
    "Philadelphus coronarius",
];

fn main() {
    let scratch = tempfile::tempdir().unwrap();
    let mut text =
        String::from("Code;Plant;Number;Stuck on;Wood;Hormone;Place;Rooted;Dead;Counted;Weather\n");
    for row in 0..ROWS {
        let (year, month, day) = (2010 + row % 14, 1 + row % 11, 1 + row % 28);
        let taxon = TAXA[(row % 6) as usize];
        writeln!(text, "A{row};{taxon};{};{day:02}.{month:02}.{year};softwood;IBA {};bench {};{};{};{day:02}.{:02}.{year};dull",
            24 + row % 40, 1000 * (1 + row % 3), row % 9, row % 20, row % 4, month + 1).unwrap();
    }
    let table = scratch.path().join("old.csv");
    std::fs::write(&table, text).unwrap();
    let settings = settings(scratch.path().join("journal"), scratch.path());
    let clock = Clock::fixed(DateTime::parse_from_rfc3339("2026-08-01T12:00:00+01:00").unwrap());
    let mut desk = Desk::open_or_begin(settings, clock, &mut |_| ()).unwrap();
    let start = Instant::now();
    let survey = desk
        .survey_records(&table, RecordsQuestion::default())
        .unwrap();
    let read = start.elapsed().as_secs_f64();
    let entries = desk.write_records(&survey).unwrap();
    let whole = start.elapsed().as_secs_f64();
    assert_eq!(survey.new.len(), ROWS as usize);
    println!(
        "{ROWS} rows: read in {read:.2} s, {entries} entries written and read back in {:.2} s",
        whole - read
    );
    let start = Instant::now();
    let again = desk
        .survey_records(&table, RecordsQuestion::default())
        .unwrap();
    assert_eq!((again.new.len(), again.held), (0, ROWS as usize));
    let taken = desk.withdraw_records(&again).unwrap();
    assert_eq!((taken, desk.book().batches().len()), (ROWS as usize, 0));
    println!(
        "found again and withdrawn in {:.2} s",
        start.elapsed().as_secs_f64()
    );
    assert!(whole <= LONGEST, "{whole:.2} s, more than {LONGEST} s");
}
