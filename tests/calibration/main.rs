//! Judges forecasts on journals whose end is known; writes tests/data/calibration.csv and the table in DEVELOPERS.md.
//! Run with `cargo bench --bench calibration`; `-- simulated` (or any part of a name) prints those rows alone.
#![allow(clippy::unwrap_used, missing_docs)]

mod journals;
mod judge;

use chrono::NaiveDate;
use journals::{Truth, nursery, simulated};
use judge::{Judged, PARTS, Tally, left_out, on_day};
use std::path::Path;
use struck::book::Book;

/// The columns of the file.
const HEAD: &str = "journal,seen,what,judged,claimed_50,held_50,off_50,claimed_80,held_80,off_80,crps,crps_taxon,crps_pooled";

/// A journal in which all goes as forecasts suppose.
const PLAIN: Truth = Truth {
    batches: 150,
    taxa: 12,
    rho: 0.08,
    spreads: [0.25, 0.1, 0.35],
    weibull: false,
    every: 7,
    wasting: 0.015,
};

/// Days on which the sample nursery is asked what is to come: all its summers, a fortnight apart.
const DAYS: [(u32, u32); 9] = [
    (6, 5),
    (6, 19),
    (7, 3),
    (7, 17),
    (7, 31),
    (8, 14),
    (8, 28),
    (9, 11),
    (9, 25),
];

/// A journal, and which of its closed batches are left out in turn: every so many.
type Set = (&'static str, fn() -> Book, usize);

const SETS: [Set; 5] = [
    ("nursery", || nursery(41), 1),
    ("simulated", || simulated(&PLAIN, 1), 3),
    (
        "simulated, correlation 0.2",
        || simulated(&Truth { rho: 0.2, ..PLAIN }, 2),
        3,
    ),
    (
        "simulated, Weibull days",
        || {
            simulated(
                &Truth {
                    weibull: true,
                    ..PLAIN
                },
                3,
            )
        },
        3,
    ),
    (
        "simulated, looks 14 d apart",
        || simulated(&Truth { every: 14, ..PLAIN }, 4),
        3,
    ),
];

fn row(name: &str, part: &str, what: &str, tally: &Tally, rivals: bool) -> Option<String> {
    // Fewer tell nothing of how often an interval holds.
    if tally.of < 10.0 {
        return None;
    }
    let share = |sum: f64| sum / tally.of;
    let [a, b] = [0, 1].map(|at| {
        let (claimed, held) = (share(tally.claimed[at]), share(tally.held[at]));
        format!("{claimed:.3},{held:.3},{:+.1}", tally.off(at))
    });
    let [own, taxon, pooled] = tally.scores.map(share);
    let scores = if rivals {
        format!("{own:.2},{taxon:.2},{pooled:.2}")
    } else {
        format!("{own:.2},,")
    };
    let name = name.replace(',', ";");
    Some(format!(
        "{name},{part},{what},{},{a},{b},{scores}",
        tally.of
    ))
}

fn rows(wanted: &str) -> Vec<String> {
    let mut out = Vec::new();
    for (name, book, step) in SETS.iter().filter(|(name, ..)| name.contains(wanted)) {
        let judged: [Judged; 3] = left_out(&book(), *step);
        for (part, judged) in PARTS.iter().zip(&judged) {
            let part = format!("{:.0} %", 100.0 * part);
            out.extend(row(name, &part, "count", &judged.counts, true));
            out.extend(row(name, &part, "days", &judged.days, true));
        }
    }
    if "nursery on past days".contains(wanted) {
        let book = nursery(41);
        let mut all = Judged::default();
        for year in 2024..=2026 {
            for (month, day) in DAYS {
                let judged = on_day(&book, NaiveDate::from_ymd_opt(year, month, day).unwrap());
                all.counts.plus(&judged.counts);
                all.days.plus(&judged.days);
            }
        }
        out.extend(row("nursery", "past days", "count", &all.counts, false));
        out.extend(row("nursery", "past days", "days", &all.days, false));
    }
    out
}

/// The rows as a table of the page for contributors.
fn table(rows: &[String]) -> String {
    let mut out = String::from(
        "| journal | seen | of | judged | 50 %: claimed, held | 80 %: claimed, held | score | taxon's mean | pooled mean |\n|---|---|---|---|---|---|---|---|---|\n",
    );
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let [name, part, what, of, a, b, _, c, d, _, own, taxon, pooled] = cells[..] else {
            continue;
        };
        out.push_str(&format!(
            "| {} | {part} | {what} | {of} | {a}, {b} | {c}, {d} | {own} | {taxon} | {pooled} |\n",
            name.replace(';', ",")
        ));
    }
    out
}

fn write(rows: &[String]) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = format!("{HEAD}\n{}\n", rows.join("\n"));
    std::fs::write(root.join("tests/data/calibration.csv"), file).unwrap();
    let page = root.join("DEVELOPERS.md");
    let text = std::fs::read_to_string(&page).unwrap();
    let (mark, end) = ("bench calibration -->\n", "<!-- end of calibration -->");
    let (before, rest) = text.split_once(mark).unwrap();
    let (_, after) = rest.split_once(end).unwrap();
    std::fs::write(page, format!("{before}{mark}{}{end}{after}", table(rows))).unwrap();
}

fn main() {
    // Cargo adds a word of its own.
    let wanted = std::env::args()
        .skip(1)
        .find(|word| !word.starts_with("--"));
    let rows = match std::fs::read_to_string(wanted.as_deref().unwrap_or_default()) {
        // Rows worked out in parts, put together.
        Ok(held) => held.lines().map(str::to_owned).collect(),
        Err(_) => rows(wanted.as_deref().unwrap_or_default()),
    };
    let parts = wanted
        .as_deref()
        .is_some_and(|wanted| !Path::new(wanted).exists());
    println!("{HEAD}\n{}", rows.join("\n"));
    if !parts {
        write(&rows);
    }
}
