//! Judges forecasts on journals whose end is known and prints the table of calibration.
//! Run with `cargo bench --bench calibration`; `-- quick` takes every eighth batch.
#![allow(clippy::unwrap_used, missing_docs)]

mod journals;
mod judge;

use chrono::NaiveDate;
use journals::{Truth, nursery, simulated};
use judge::{Judged, PARTS, left_out, on_day};
use std::time::Instant;

fn row(name: &str, part: &str, what: &str, tally: &judge::Tally) {
    if tally.of < 1.0 {
        return;
    }
    let share = |sum: f64| sum / tally.of;
    let [a, b] = [0, 1].map(|at| {
        format!(
            "{:.3},{:.3},{:+.1}",
            share(tally.claimed[at]),
            share(tally.held[at]),
            tally.off(at)
        )
    });
    let [own, taxon, pooled] = tally.scores.map(share);
    println!(
        "{name},{part},{what},{},{a},{b},{own:.2},{taxon:.2},{pooled:.2}",
        tally.of
    );
}

fn main() {
    let quick = std::env::args().any(|a| a == "quick");
    let step = if quick { 8 } else { 1 };
    println!(
        "journal,seen,what,judged,claimed_50,held_50,off_50,claimed_80,held_80,off_80,crps,crps_taxon,crps_pooled"
    );
    let plain = Truth {
        batches: 150,
        taxa: 12,
        rho: 0.08,
        spreads: [0.25, 0.1, 0.35],
        weibull: false,
        every: 7,
        wasting: 0.015,
    };
    let mut sets: Vec<(String, struck::book::Book)> = vec![("nursery".into(), nursery(41))];
    sets.push(("simulated".into(), simulated(&plain, 1)));
    sets.push((
        "simulated rho 0.2".into(),
        simulated(&Truth { rho: 0.2, ..plain }, 2),
    ));
    sets.push((
        "simulated Weibull".into(),
        simulated(
            &Truth {
                weibull: true,
                ..plain
            },
            3,
        ),
    ));
    sets.push((
        "simulated, looks 14 d apart".into(),
        simulated(&Truth { every: 14, ..plain }, 4),
    ));
    for (name, book) in &sets {
        let start = Instant::now();
        let judged: [Judged; 3] = left_out(book, step);
        for (part, judged) in PARTS.iter().zip(&judged) {
            let part = format!("{:.0} %", 100.0 * part);
            row(name, &part, "count", &judged.counts);
            row(name, &part, "days", &judged.days);
        }
        eprintln!("{name}: {:.1} s", start.elapsed().as_secs_f64());
    }
    let mut all = Judged::default();
    for (year, month, day) in [
        (2024, 7, 1),
        (2024, 8, 1),
        (2024, 9, 1),
        (2025, 7, 1),
        (2025, 8, 1),
        (2025, 9, 1),
        (2026, 7, 1),
    ] {
        let judged = on_day(
            &sets[0].1,
            NaiveDate::from_ymd_opt(year, month, day).unwrap(),
        );
        all.counts.plus(&judged.counts);
        all.days.plus(&judged.days);
    }
    row("nursery", "on past days", "count", &all.counts);
    row("nursery", "on past days", "days", &all.days);
}
