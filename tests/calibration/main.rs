//! Tries what figures state on journals whose truth is known; writes tests/data/calibration.csv and the tables in tests/README.md.
//! Run with `cargo bench --bench calibration`: rows that are done are kept under target/ as long as the program's answers
//! stay as they are, and not made again. `-- --short` tries a part of it in few runs, and stores nothing; `-- plans` (or any
//! part of a name) prints those rows alone. Each fails where what held lies further from what is claimed than chance allows.
#![allow(clippy::unwrap_used, missing_docs)]

mod claims;
mod climate;
mod crps;
mod fingerprint;
mod forecasts;
mod journals;
mod judge;
mod rows;
#[path = "../sample_maker/mod.rs"]
mod sample_maker;
#[path = "../simulated/mod.rs"]
mod simulated;
mod table;
mod trials;

use claims::Experiment;
use fingerprint::fingerprint;
use rows::{HEAD, Row};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// One in two thousand rows lies further out than so many standard errors by chance.
const CHANCE: f64 = 3.3;

/// What is known not to hold, and told in tests/README.md: semi-ripe wood so much slower than softwood is beyond what is
/// believed; five dead of forty in two weeks are still ordinary.
const NOT_HELD: [(&str, &str); 2] = [("2.5 times", "days"), ("trays of 40", "rot told before")];

/// Something to try, by its name.
struct Step {
    name: String,
    rows: Box<dyn Fn() -> Vec<Row>>,
}

fn steps(short: bool) -> Vec<Step> {
    let mut experiments = trials::experiments();
    experiments.extend(climate::experiments());
    let tried = |experiment: Experiment| {
        let runs = experiment.runs[usize::from(short)];
        Step {
            name: experiment.name.clone(),
            rows: Box::new(move || experiment.rows(runs)),
        }
    };
    let meant = experiments
        .into_iter()
        .filter(|it| it.runs[usize::from(short)] > 0);
    let mut steps: Vec<Step> = meant.map(tried).collect();
    let sets = if short {
        vec![forecasts::short()]
    } else {
        forecasts::sets()
    };
    steps.extend(sets.into_iter().map(|set| Step {
        name: set.name,
        rows: set.rows,
    }));
    steps
}

/// Where rows done with these answers are kept: a step's name, then a row, in each line.
fn kept(answers: &str) -> PathBuf {
    let target = std::env::var_os("CARGO_TARGET_DIR").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("target"),
        PathBuf::from,
    );
    target.join(format!("calibration-{answers}.csv"))
}

/// The rows of a step, of those kept if they are there.
fn rows_of(step: &Step, file: &Path) -> Vec<Row> {
    let text = std::fs::read_to_string(file).unwrap_or_default();
    let mine = text.lines().filter_map(|line| line.split_once('\t'));
    let done: Vec<Row> = mine
        .filter(|(name, _)| *name == step.name)
        .filter_map(|(_, row)| Row::read(row))
        .collect();
    if !done.is_empty() {
        return done;
    }
    let rows = (step.rows)();
    let lines: Vec<String> = rows
        .iter()
        .map(|row| format!("{}\t{}\n", step.name, row.line()))
        .collect();
    let mut open = std::fs::OpenOptions::new()
        .create(true)
        .append(true)
        .open(file)
        .unwrap();
    open.write_all(lines.concat().as_bytes()).unwrap();
    rows
}

/// By how many standard errors what held lies outside what is claimed; 0 inside.
fn outside(row: &Row) -> f64 {
    let [least, most] = row.bounds;
    let past = |bound: f64, gap: f64| {
        // Where all or none held, the runs themselves tell no error.
        let error = (bound * (1.0 - bound) / row.of.max(1.0)).sqrt();
        gap.max(0.0) / error.max(row.error).max(1e-9)
    };
    past(least, least - row.held).max(past(most, row.held - most))
}

/// What does not hold: further out than chance allows, or no better than a rival.
fn wrong(rows: &[Row]) -> Vec<String> {
    let mut wrong = Vec::new();
    let (mut own_days, mut taxon_days) = (0.0, 0.0);
    for row in rows {
        let known = NOT_HELD
            .iter()
            .any(|(about, what)| row.about.contains(about) && row.what.starts_with(what));
        if !known && outside(row) > CHANCE {
            wrong.push(format!(
                "{:.1} standard errors outside: {}",
                outside(row),
                row.line()
            ));
        }
        let Some([own, taxon, pooled]) = row.scores else {
            continue;
        };
        let days = row.what.starts_with("days");
        if own >= if days { pooled } else { taxon.min(pooled) } {
            wrong.push(format!("no better than a rival: {}", row.line()));
        }
        if days {
            own_days += own * row.of;
            taxon_days += taxon * row.of;
        }
    }
    if own_days > taxon_days {
        wrong.push(format!(
            "days no better than the taxon's: {own_days} for {taxon_days}"
        ));
    }
    wrong
}

fn store(answers: &str, rows: &[Row]) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let lines: Vec<String> = rows.iter().map(Row::line).collect();
    let made_with = table::MADE_WITH;
    let file = format!("{made_with}{answers}\n{HEAD}\n{}\n", lines.join("\n"));
    std::fs::write(root.join("tests/data/calibration.csv"), &file).unwrap();
    let page = root.join("tests/README.md");
    let text = std::fs::read_to_string(&page).unwrap();
    let [before, _, after] = table::parts(&text);
    // As they are stored, not with all their digits.
    let tables = table::of(&table::stored(&file).1);
    std::fs::write(page, format!("{before}{tables}{after}")).unwrap();
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let short = words.iter().any(|word| word == "--short");
    // Cargo adds a word of its own.
    let wanted = words.iter().find(|word| !word.starts_with("--"));
    let began = Instant::now();
    let answers = fingerprint();
    println!("answers {answers}, {:.1} s", began.elapsed().as_secs_f64());
    println!("{HEAD}");
    let file = kept(&answers);
    let mut rows = Vec::new();
    for step in steps(short) {
        if wanted.is_some_and(|wanted| !step.name.contains(wanted)) {
            continue;
        }
        let began = Instant::now();
        let made = if short || wanted.is_some() {
            (step.rows)()
        } else {
            rows_of(&step, &file)
        };
        made.iter().for_each(|row| println!("{}", row.line()));
        println!("# {}: {:.1} s", step.name, began.elapsed().as_secs_f64());
        rows.extend(made);
    }
    println!("# all: {:.0} s", began.elapsed().as_secs_f64());
    if !short && wanted.is_none() {
        store(&answers, &rows);
    }
    let wrong = wrong(&rows);
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}
