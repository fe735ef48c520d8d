//! Writes seeded random sets with our answers into the file named, for `tests/crosscheck/crosscheck.py` to compare with
//! general-purpose libraries. It compares nothing itself. Run by `tests/crosscheck/run`.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use serde_json::{Value, json};
use struck::stats::dice::Dice;
use struck::stats::distributions::{normal_cdf, normal_quantile, t_quantile};
use struck::stats::npmle::{Estimate, Mass, Row, estimate};
use struck::stats::shares::wilson;

const SETS: usize = 300;

/// One set of rows, as [left, right or null, 'reached' | 'lost' | null, weight].
fn set(dice: &mut Dice, kind: &str) -> Vec<Row> {
    let lost = if kind == "competing" {
        0.1 + 0.5 * dice.unit()
    } else {
        0.0
    };
    let size = 3 + dice.place(60);
    let last = 20 + dice.place(60);
    let weight = |dice: &mut Dice| match kind {
        "exact" => 1.0,
        _ => (1 + dice.place(9)) as f64,
    };
    let mut free: Vec<usize> = (1..400).collect();
    let mut row = || {
        let day = -25.0 * (1.0 - dice.unit()).ln();
        let every = (1 + dice.place(14)) as f64;
        let left = (day / every).floor() * every;
        let weight = weight(dice);
        if kind == "exact" {
            // Every day differs: the product-limit libraries treat ties in their own ways.
            let day = free.swap_remove(dice.place(free.len())) as f64;
            return match dice.place(3) {
                0 => Row::reached(day - 1.0, day, weight),
                1 => Row::lost(day - 1.0, day, weight),
                _ => Row::not_yet(day, weight),
            };
        }
        let watched = (last - dice.place(last / 2)) as f64;
        match (left + every > watched, dice.unit() < lost) {
            (true, _) => Row::not_yet(watched, weight),
            (false, true) => Row::lost(left, left + every, weight),
            (false, false) => Row::reached(left, left + every, weight),
        }
    };
    (0..size).map(|_| row()).collect()
}

fn row_out(row: &Row) -> Value {
    let right = row.event().map(|_| row.right);
    let outcome = row.event().map(|seen| format!("{seen:?}").to_lowercase());
    json!([row.left, right, outcome, row.weight])
}

fn estimate_out(found: &Estimate) -> Value {
    let masses =
        |list: &[Mass]| -> Vec<[f64; 3]> { list.iter().map(|m| [m.after, m.by, m.mass]).collect() };
    json!({
        "reached": masses(&found.curve),
        "lost": masses(&found.lost),
        "later": found.later,
        "loglik": found.loglik,
        "gap": found.gap,
    })
}

fn distributions() -> Value {
    let mut rows = Vec::new();
    for df in [1.0, 2.0, 4.0, 11.0, 60.0, 1000.0] {
        for p in [0.001, 0.025, 0.2, 0.5, 0.9, 0.975, 0.9995] {
            rows.push(json!(["t_quantile", [p, df], t_quantile(p, df)]));
            rows.push(json!(["normal_quantile", [p], normal_quantile(p)]));
            rows.push(json!([
                "normal_cdf",
                [p * 9.0 - 8.0],
                normal_cdf(p * 9.0 - 8.0)
            ]));
        }
    }
    for (x, n) in [(0, 7), (1, 7), (5, 12), (12, 12), (40, 90), (999, 1000)] {
        let found = wilson(f64::from(x), f64::from(n), normal_quantile(0.975));
        rows.push(json!(["wilson", [x, n], [found.low, found.high]]));
    }
    json!(rows)
}

fn main() {
    let is_path = |word: &String| !word.starts_with("--");
    let path = std::env::args().skip(1).find(is_path);
    let path = path.expect("the file to write is named");
    let mut dice = Dice::stream(2_026, 0);
    let mut sets = Vec::new();
    for index in 0..SETS {
        let kind = ["single", "competing", "exact"][index % 3];
        let rows = set(&mut dice, kind);
        let found = estimate(&rows).unwrap();
        sets.push(json!({
            "kind": kind,
            "rows": rows.iter().map(row_out).collect::<Vec<_>>(),
            "estimate": estimate_out(&found),
        }));
    }
    let all = json!({ "sets": sets, "distributions": distributions() });
    std::fs::write(path, serde_json::to_string(&all).unwrap()).unwrap();
}
