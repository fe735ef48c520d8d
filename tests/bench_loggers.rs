//! Loggers: a year of ten-minute readings of three places, and a million rows of one, imported; then the climate
//! figures and the air screen on the journal that they make. Run with `cargo bench --bench bench_loggers`.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/nursery.rs"]
mod nursery;
#[path = "bench_common/settings.rs"]
mod settings;

use chrono::{DateTime, NaiveDate, TimeDelta};
use settings::settings;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::time::Instant;
use struck::analysis::air::days;
use struck::analysis::air::lived::PlaceAirs;
use struck::app::clock::Clock;
use struck::app::desk::Desk;
use struck::input::logger::LayoutQuestion;
use struck::tui::air::history::air_history;

const PLACES: [&str; 3] = ["mist bench", "closed frame", "lidded box 1"];

/// An invented logger's file of so many rows, from the first of August 2025 on, or before if there are many.
fn write_logger(path: &Path, rows: u32, number: u32) {
    let end = DateTime::parse_from_rfc3339("2026-08-01T00:00:00+01:00").unwrap();
    let mut text = String::from("time,air °C,rh %,medium °C\n");
    for row in 0..rows {
        let at = end - TimeDelta::minutes(10 * i64::from(rows - row));
        let wave = f64::from(row % 144) / 144.0 * std::f64::consts::TAU;
        let air = 18.0 + 7.0 * wave.sin() + f64::from(number);
        let (rh, medium) = (85.0 - 10.0 * wave.sin(), 20.0 + wave.cos());
        let when = at.format("%Y-%m-%d %H:%M:%S");
        writeln!(text, "{when},{air:.2},{rh:.1},{medium:.2}").unwrap();
    }
    std::fs::write(path, text).unwrap();
}

fn clock() -> Clock {
    Clock::fixed(DateTime::parse_from_rfc3339("2026-08-01T12:00:00+01:00").unwrap())
}

/// Imports a file; says in how many seconds it was surveyed, and written and read back.
fn import(desk: &mut Desk, file: &Path, place: &str) -> (u64, f64, f64) {
    let start = Instant::now();
    let survey = desk
        .survey_logger(file, place, &LayoutQuestion::default(), &mut |_| ())
        .unwrap();
    let surveyed = start.elapsed().as_secs_f64();
    let written = desk.import_logger(file, &survey, &mut |_| ()).unwrap();
    (written, surveyed, start.elapsed().as_secs_f64() - surveyed)
}

fn timed<T>(what: &str, work: impl Fn() -> T) -> T {
    let mut best = f64::INFINITY;
    let mut last = work();
    for _ in 0..5 {
        let start = Instant::now();
        last = work();
        best = best.min(start.elapsed().as_secs_f64());
    }
    println!("{what}: {:.1} ms", best * 1e3);
    last
}

fn main() {
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path().join("year");
    nursery::copy_nursery(&folder);
    let mut desk = Desk::open(settings(&folder, scratch.path()), clock(), &mut |_| ()).unwrap();
    for (number, place) in PLACES.iter().enumerate() {
        let file: PathBuf = scratch.path().join(format!("{number}.csv"));
        write_logger(&file, 52_560, number as u32);
        let (written, surveyed, wrote) = import(&mut desk, &file, place);
        println!(
            "{place}: {written} rows surveyed in {surveyed:.2} s, written and read back in {wrote:.2} s"
        );
        let (again, ..) = import(&mut desk, &file, place);
        assert_eq!(again, 0, "the same file again adds nothing");
    }
    let opened = Instant::now();
    let desk = Desk::open(settings(&folder, scratch.path()), clock(), &mut |_| ()).unwrap();
    println!("opened in {:.0} ms", opened.elapsed().as_secs_f64() * 1e3);
    let book = desk.book();
    let today = NaiveDate::from_ymd_opt(2026, 8, 1).unwrap();
    let screen = timed("the air screen, all places", || air_history(book, today));
    assert!(screen.places.len() >= 3);
    let fortnight = timed("a fortnight of one place", || {
        days(book, PLACES[0], Some(today - chrono::Days::new(14)), None)
    });
    assert!(fortnight.len() >= 14);
    timed("a year of three places", || {
        PLACES.map(|place| days(book, place, None, None).len())
    });
    timed("what every batch lived in", || {
        let mut airs = PlaceAirs::new(book);
        let each = book.batches().iter();
        each.map(|batch| airs.lived(batch, today.max(batch.stuck_on), 5.0).read)
            .sum::<u32>()
    });
    let folder = scratch.path().join("million");
    let mut desk =
        Desk::open_or_begin(settings(&folder, scratch.path()), clock(), &mut |_| ()).unwrap();
    let file = scratch.path().join("million.csv");
    write_logger(&file, 1_000_000, 0);
    let (written, surveyed, wrote) = import(&mut desk, &file, PLACES[0]);
    println!(
        "a million: {written} rows surveyed in {surveyed:.2} s, written and read back in {wrote:.2} s"
    );
}
