//! One million entries: the time to read, check and fold them and to give the timelines, and the memory kept.
//! Run with `cargo bench --bench bench_million`; with a path as `STRUCK_BENCH_DIR` the journal is kept there.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/million.rs"]
mod million;
#[path = "bench_common/nursery.rs"]
mod nursery;
#[path = "bench_common/settings.rs"]
mod settings;
#[path = "bench_common/status.rs"]
mod status;

use million::write_journal;
use settings::settings;
use status::status_kb;
use std::fs;
use std::time::Instant;
use struck::analysis::timeline::{TimelineOptions, timeline};
use struck::app::clock::Clock;
use struck::app::desk::Desk;

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
    let settings = settings(folder, scratch.path());
    let before = status_kb("self", "VmRSS");
    let mut opened = Vec::new();
    let mut answered = Vec::new();
    for _ in 0..5 {
        let start = Instant::now();
        let desk = Desk::open(settings.clone(), Clock::system(), &mut |_| ()).unwrap();
        opened.push(start.elapsed().as_secs_f64());
        let options = TimelineOptions {
            resamples: 0,
            ..TimelineOptions::default()
        };
        let groups = timeline(desk.book(), &options, &mut |_, _| true)
            .unwrap()
            .groups
            .len();
        answered.push(start.elapsed().as_secs_f64());
        assert!(groups > 10);
        if answered.len() == 1 {
            let sums = desk.book().sums();
            let held = status_kb("self", "VmRSS").saturating_sub(before);
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
    println!("highest memory {} kB", status_kb("self", "VmHWM"));
}
