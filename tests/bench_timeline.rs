//! Times the timeline of a group of 400 batches with its uncertainty; it prints and asserts nothing.
//! Run with `cargo bench --bench bench_timeline`.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/made.rs"]
mod made;

use chrono::{Days, NaiveDate};
use std::time::Instant;
use struck::analysis::timeline::{TimelineOptions, timeline};
use struck::fold::Book;
use struck::model::entry::Entry;
use struck::model::value::Value;
use struck::stats::dice::Dice;

fn first() -> NaiveDate {
    NaiveDate::from_ymd_opt(2024, 6, 1).unwrap()
}

/// A batch stuck on its own day, looked at every one to two weeks; half are potted and cleared.
fn batch(n: usize, dice: &mut Dice, out: &mut Vec<Entry>) {
    let start = n as u64;
    let code = Value::Text(format!("B{n}"));
    let stuck = 20 + dice.place(180) as u32;
    let number = |n: u32| Value::Number(f64::from(n));
    let taxon = Value::Text("Weigela florida".into());
    let facts = vec![
        ("batch", code.clone()),
        ("taxon", taxon),
        ("stuck", number(stuck)),
    ];
    out.push(made::entry(
        format!("{n:05}"),
        "stick",
        first() + Days::new(start),
        facts,
    ));
    let strike = 0.4 + 0.5 * dice.unit();
    let (mut day, mut remain) = (0, stuck);
    for look in 0..5 {
        day += 7 + dice.place(8) as u64;
        let lost = dice.place(1 + remain as usize / 12) as u32;
        remain -= lost;
        let share = strike * (1.0 - (-(day as f64 - 12.0).max(0.0) / 18.0).exp());
        let rooted = (f64::from(remain) * share) as u32;
        let lost = Value::Map(vec![("mould".into(), number(lost))]);
        let callused = number((remain - rooted) / 3);
        let fields = vec![
            ("batch", code.clone()),
            ("callused", callused),
            ("rooted", number(rooted)),
            ("bottom", number(0)),
            ("lost", lost),
        ];
        out.push(made::entry(
            format!("{n:05}{look}"),
            "look",
            first() + Days::new(start + day),
            fields,
        ));
        if look == 4 && n.is_multiple_of(2) {
            let pot = vec![("batch", code.clone()), ("count", number(rooted))];
            out.push(made::entry(
                format!("{n:05}8"),
                "pot",
                first() + Days::new(start + day),
                pot,
            ));
            let rest = number(remain - rooted);
            let why = Value::Text("given-up".into());
            let fields = vec![("batch", code.clone()), ("count", rest), ("why", why)];
            out.push(made::entry(
                format!("{n:05}9"),
                "discard",
                first() + Days::new(start + day),
                fields,
            ));
        }
    }
}

fn book(batches: usize) -> Book {
    let mut dice = Dice::stream(7, 0);
    let mut entries = Vec::new();
    for n in 0..batches {
        batch(n, &mut dice, &mut entries);
    }
    Book::from_entries(entries)
}

fn main() {
    for batches in [40, 400, 4000] {
        let book = book(batches);
        for resamples in [0, 999] {
            if batches > 400 && resamples > 0 {
                continue;
            }
            let options = TimelineOptions {
                resamples,
                ..TimelineOptions::default()
            };
            let start = Instant::now();
            let found = timeline(&book, &options, &mut |_, _| true).unwrap();
            let took = start.elapsed().as_secs_f64();
            let strike = found.groups[0]
                .strike
                .value()
                .map(|it| (it.low, it.value, it.high));
            println!("{batches} batches, B = {resamples}: {took:.3} s, strike {strike:.3?}");
        }
    }
}
