//! Times the list of what is due for 400 open batches behind 1200 closed ones of twenty taxa: the rules, and
//! learning what they rest on; it prints and asserts nothing. Run with `cargo bench --bench bench_due`.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/made.rs"]
mod made;

use chrono::{Days, NaiveDate};
use std::time::Instant;
use struck::analysis::due::due;
use struck::analysis::expect::Model;
use struck::fold::Book;
use struck::model::entry::Entry;
use struck::model::value::Value;
use struck::stats::dice::Dice;

/// The batches stuck each season, and the seasons.
const SEASON: u64 = 400;
const SEASONS: u64 = 4;

fn first() -> NaiveDate {
    NaiveDate::from_ymd_opt(2023, 4, 1).unwrap()
}

/// A batch looked at every week; those of seasons past are potted after eight.
fn batch(n: u64, dice: &mut Dice, out: &mut Vec<Entry>) {
    let (season, at) = (n / SEASON, n % SEASON);
    let start = season * 365 + at / 4;
    let closed = season + 1 < SEASONS;
    let code = || ("batch", Value::Text(format!("B{n}")));
    let number = |n: u64| Value::Number(n as f64);
    let stick = vec![
        code(),
        ("taxon", Value::Text(format!("Weigela 'Number {}'", n % 20))),
        ("wood", Value::Text("softwood".into())),
        ("stuck", number(48)),
        ("place", Value::Text(format!("bench {}/{}", n % 7, n % 40))),
    ];
    out.push(made::entry(
        format!("{n:05}"),
        "stick",
        first() + Days::new(start),
        stick,
    ));
    for look in 1..=8_u64 {
        let rooted = (look * 5).min(40).saturating_sub(dice.place(4) as u64);
        let lost = Value::Map(vec![("mould".into(), number(dice.place(2) as u64))]);
        let fields = vec![code(), ("rooted", number(rooted)), ("lost", lost)];
        out.push(made::entry(
            format!("{n:05}{look}"),
            "look",
            first() + Days::new(start + look * 7),
            fields,
        ));
    }
    if closed {
        let fields = vec![code(), ("count", number(60))];
        out.push(made::entry(
            format!("{n:05}9"),
            "pot",
            first() + Days::new(start + 60),
            fields,
        ));
    }
}

fn book() -> Book {
    let mut dice = Dice::stream(7, 0);
    let mut entries = Vec::new();
    for n in 0..SEASON * SEASONS {
        batch(n, &mut dice, &mut entries);
    }
    Book::from_entries(entries)
}

fn main() {
    let book = book();
    // The last day of the last season's looks, and a day in the midst of them, when later ones are cut off.
    for day in [3 * 365 + 160, 3 * 365 + 60] {
        let on = first() + Days::new(day);
        let start = Instant::now();
        let model = Model::learn(&book, on, &[]);
        let estimated = start.elapsed();
        let start = Instant::now();
        let list = due(&book, on, Some(&model));
        let ruled = start.elapsed();
        println!(
            "{on}: {} open of {}: rules {:.1} ms, learning {:.0} ms",
            list.items.len() + list.silent.len(),
            book.batches().len(),
            ruled.as_secs_f64() * 1e3,
            estimated.as_secs_f64() * 1e3
        );
    }
}
