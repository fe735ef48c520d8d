//! How time and memory grow with a large nursery's journal: the program run on 10 000, 100 000 and 1 000 000 entries, each
//! command in a process of its own. `STRUCK_BENCH_SIZES` names other sizes (`10000,10000000`). Beside each figure stands
//! the exponent since the size before: 1 is growth in step with the entries.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/grower.rs"]
mod grower;
#[path = "bench_common/made.rs"]
mod made;
#[path = "bench_common/status.rs"]
mod status;

use grower::write_grower;
use status::status_kb;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// How often each command is run; the quickest counts.
const RUNS: usize = 3;

/// What is timed: a name, and the command without the journal. `CODE` is the first batch's.
const WORK: [(&str, &[&str]); 6] = [
    ("check", &["check"]),
    ("batches --open", &["batches", "--open", "--json"]),
    ("show, one batch", &["show", "CODE"]),
    (
        "add, dry",
        &["add", "--dry-run", "climate mist bench: air 20"],
    ),
    (
        "timeline, one taxon",
        &["timeline", "Kerria 'Invented 6'", "--resamples", "0"],
    ),
    (
        "timeline, all, no ranges",
        &["timeline", "--by", "wood", "--resamples", "0", "--json"],
    ),
];

/// Seconds and megabytes of one run.
#[derive(Clone, Copy)]
struct Cost {
    seconds: f64,
    megabytes: f64,
}

fn main() {
    let sizes = std::env::var("STRUCK_BENCH_SIZES");
    let sizes = sizes.unwrap_or_else(|_| "10000,100000,1000000".to_owned());
    let sizes: Vec<u32> = sizes.split(',').map(|size| size.parse().unwrap()).collect();
    let scratch = tempfile::tempdir().unwrap();
    let mut before: Vec<(f64, Cost)> = Vec::new();
    for size in sizes {
        let folder = scratch.path().join(size.to_string());
        let code = write_grower(&folder, size);
        let bytes = fs::metadata(folder.join("shed-grower.jsonl"))
            .unwrap()
            .len();
        println!("{size} entries, {:.1} MB", bytes as f64 / 1e6);
        for (at, (name, work)) in WORK.iter().enumerate() {
            let work: Vec<&str> = work
                .iter()
                .map(|word| if *word == "CODE" { code.as_str() } else { word })
                .collect();
            let runs = (0..RUNS).map(|_| run(&folder, &work));
            let cost = runs.min_by(|a, b| a.seconds.total_cmp(&b.seconds)).unwrap();
            let entries = f64::from(size);
            let since = before.get(at).map_or_else(String::new, |(fewer, less)| {
                let exponent = |now: f64, then: f64| (now / then).ln() / (entries / fewer).ln();
                format!(
                    "   exponents {:.2}, {:.2}",
                    exponent(cost.seconds, less.seconds),
                    exponent(cost.megabytes, less.megabytes)
                )
            });
            println!(
                "  {name:26} {:8.3} s {:8.1} MB{since}",
                cost.seconds, cost.megabytes
            );
            match before.get_mut(at) {
                Some(held) => *held = (entries, cost),
                None => before.push((entries, cost)),
            }
        }
        fs::remove_dir_all(&folder).unwrap();
    }
}

/// Runs the program on a journal; what it answers goes nowhere.
fn run(folder: &Path, work: &[&str]) -> Cost {
    let begin = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_struck"))
        .arg("--journal")
        .arg(folder)
        .args(work)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let process = child.id().to_string();
    let mut peak = 0;
    let ended = loop {
        if let Some(ended) = child.try_wait().unwrap() {
            break ended;
        }
        peak = peak.max(status_kb(&process, "VmHWM"));
        std::thread::sleep(Duration::from_millis(1));
    };
    // 3: sound but for faults that it tells.
    assert!(matches!(ended.code(), Some(0 | 3)), "{work:?}: {ended}");
    Cost {
        seconds: begin.elapsed().as_secs_f64(),
        megabytes: peak as f64 / 1e3,
    }
}
