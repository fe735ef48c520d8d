//! One million entries: the time to read, check and fold them and to give the timelines, and the memory kept.
//! Run with `cargo bench --bench bench_million`; with a path as `STRUCK_BENCH_DIR` the journal is kept there.
#![allow(clippy::unwrap_used, missing_docs)]

use chrono::{DateTime, TimeDelta};
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;
use std::time::Instant;
use struck::book::at::At;
use struck::book::entry::{Climate, Entry};
use struck::book::id::Id;
use struck::book::timeline::{Options, timeline};
use struck::book::value::{Celsius, Percent, Ppfd, Seconds};
use struck::desk::bench::Desk;
use struck::desk::clock::Clock;
use struck::desk::sample;
use struck::desk::settings::Settings;
use struck::journal::codec::encode;

const LINES: u32 = 1_000_000;
const PLACES: [&str; 3] = ["mist bench", "closed frame", "lidded box 1"];

/// The sample nursery, and three loggers' readings every four minutes until there are a million lines.
fn write_journal(folder: &Path) {
    sample::write(folder, sample::SEED).unwrap();
    let start = DateTime::parse_from_rfc3339("2023-04-01T00:00:00+01:00").unwrap();
    for (number, place) in PLACES.iter().enumerate() {
        let mut out =
            BufWriter::new(File::create(folder.join(format!("logger-{number}.jsonl"))).unwrap());
        for row in 0..LINES / 3 {
            let at = start + TimeDelta::minutes(4 * i64::from(row));
            let wave = f64::from(row % 360) / 360.0 * std::f64::consts::TAU;
            let tenth = |value: f64| (value * 10.0).round() / 10.0;
            let climate = Climate {
                place: (*place).into(),
                air_c: Some(Celsius(tenth(18.0 + 7.0 * wave.sin()))),
                rh_pct: Some(Percent(tenth(85.0 - 10.0 * wave.sin()))),
                leaf_c: None,
                medium_c: Some(Celsius(tenth(20.0 + wave.cos()))),
                mist_on_s: Some(Seconds(10.0)),
                mist_every_s: Some(Seconds(720.0)),
                ppfd: Some(Ppfd(tenth(150.0 * (1.0 + wave.sin())))),
                vent: None,
            };
            let stamp = u128::try_from(at.timestamp_millis()).unwrap() << 80;
            let id = Id::of_ulid(stamp | u128::from(row) << 8 | number as u128);
            let entry = Entry {
                id,
                at: At::Time(at),
                by: Some("logger".into()),
                note: None,
                kind: climate.into(),
            };
            out.write_all(&encode(&Entry { by: None, ..entry }).unwrap())
                .unwrap();
            out.write_all(b"\n").unwrap();
        }
        out.flush().unwrap();
    }
}

/// Kilobytes of a line of this process's status, as `VmHWM`.
fn status_kb(name: &str) -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status
        .lines()
        .find(|line| line.starts_with(name))
        .unwrap_or_default();
    line.split_whitespace()
        .nth(1)
        .and_then(|word| word.parse().ok())
        .unwrap_or(0)
}

fn main() {
    let scratch = tempfile::tempdir().unwrap();
    let kept = std::env::var_os("STRUCK_BENCH_DIR");
    let folder = kept
        .as_ref()
        .map_or_else(|| scratch.path().join("million"), Into::into);
    if !folder.exists() {
        write_journal(&folder);
    }
    let bytes: u64 = fs::read_dir(&folder)
        .unwrap()
        .map(|item| item.unwrap().metadata().unwrap().len())
        .sum();
    let settings = Settings {
        journal: folder,
        named: true,
        state: scratch.path().join("state"),
        host: "bench".into(),
        user: "bench".into(),
        process: std::process::id(),
        threads: std::thread::available_parallelism().map_or(1, usize::from),
    };
    let before = status_kb("VmRSS");
    let mut opened = Vec::new();
    let mut answered = Vec::new();
    for _ in 0..5 {
        let start = Instant::now();
        let desk = Desk::open(settings.clone(), Clock::system(), &mut |_| ()).unwrap();
        opened.push(start.elapsed().as_secs_f64());
        let options = Options {
            resamples: 0,
            ..Options::default()
        };
        let groups = timeline(desk.book(), &options, &mut |_, _| true)
            .unwrap()
            .groups
            .len();
        answered.push(start.elapsed().as_secs_f64());
        assert!(groups > 10);
        if answered.len() == 1 {
            let sums = desk.book().sums();
            let held = status_kb("VmRSS").saturating_sub(before);
            println!(
                "{} entries in {} lines, {:.0} MB; {held} kB held with the book open",
                sums.entries,
                sums.lines,
                bytes as f64 / 1e6
            );
        }
    }
    let median = |mut times: Vec<f64>| {
        times.sort_by(f64::total_cmp);
        times[times.len() / 2]
    };
    println!(
        "open and fold {:.2} s, with timelines {:.2} s (medians of 5)",
        median(opened),
        median(answered)
    );
    println!("highest memory {} kB", status_kb("VmHWM"));
}
