//! Times forecasts: learning from 400 closed and 400 open batches, and forecasting the open ones; it prints and asserts
//! nothing. Run with `cargo bench --bench bench_forecast`.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/made.rs"]
mod made;

use chrono::{Days, NaiveDate};
use std::time::Instant;
use struck::analysis::expect::Model;
use struck::analysis::forecast::forecasts;
use struck::fold::Book;
use struck::model::entry::Entry;
use struck::model::value::Value;
use struck::stats::dice::Dice;

fn start() -> NaiveDate {
    NaiveDate::from_ymd_opt(2025, 5, 1).unwrap()
}

/// A batch stuck on a day and looked at weekly until `until`; cleared then, if it is an old one.
fn batch(n: u32, day: u32, until: u32, dice: &mut Dice, out: &mut Vec<Entry>) {
    let number = |n: u32| Value::Number(f64::from(n));
    let code = || ("batch", Value::Text(format!("B{n}")));
    let taxon = format!("Genus{} species{}", n % 12, n % 40);
    let stuck = 24 + dice.below(120);
    let wood = ["softwood", "semi-ripe"][(n % 40 / 20) as usize];
    let stick = vec![
        code(),
        ("wood", Value::Text(wood.into())),
        ("taxon", Value::Text(taxon)),
        ("stuck", number(stuck)),
        ("place", Value::Text(format!("p{n}"))),
    ];
    out.push(made::entry(
        format!("{n:05}-000"),
        "stick",
        start() + Days::new(u64::from(day)),
        stick,
    ));
    let (strike, pace) = (0.4 + 0.5 * dice.unit(), 18.0 + 20.0 * dice.unit());
    let mut remain = stuck;
    for look in 1.. {
        let at = day + 7 * look;
        let share = strike / (1.0 + (-(f64::from(at - day) - pace) / 4.0).exp());
        let lost = dice.below(2 + remain / 30).min(remain / 4);
        remain -= lost;
        let rooted = ((f64::from(stuck) * share) as u32).min(remain);
        let callused = number((remain - rooted) / 2);
        let lost = Value::Map(vec![("mould".into(), number(lost))]);
        let fields = vec![
            code(),
            ("callused", callused),
            ("rooted", number(rooted)),
            ("lost", lost),
        ];
        out.push(made::entry(
            format!("{n:05}-{look:03}"),
            "look",
            start() + Days::new(u64::from(at)),
            fields,
        ));
        if at + 7 > until {
            break;
        }
        if 7 * look > 70 {
            if rooted > 0 {
                out.push(made::entry(
                    format!("{n:05}-900"),
                    "pot",
                    start() + Days::new(u64::from(at)),
                    vec![code(), ("count", number(rooted))],
                ));
            }
            let why = ("why", Value::Text("given-up".into()));
            let rest = vec![code(), ("count", number((remain - rooted).max(1))), why];
            out.push(made::entry(
                format!("{n:05}-901"),
                "discard",
                start() + Days::new(u64::from(at)),
                rest,
            ));
            break;
        }
    }
}

fn book() -> Book {
    let mut dice = Dice::new(7);
    let mut entries = Vec::new();
    for n in 0..400 {
        batch(n, n % 60, 300, &mut dice, &mut entries);
    }
    for n in 400..800 {
        batch(n, 300 + n % 30, 335, &mut dice, &mut entries);
    }
    Book::from_entries(entries)
}

fn main() {
    let book = book();
    let on = start() + Days::new(336);
    for _ in 0..3 {
        let begun = Instant::now();
        let model = Model::learn(&book, on, &[]);
        let learnt = begun.elapsed().as_secs_f64();
        let made = forecasts(&book, &model, &|_| true);
        let whole = begun.elapsed().as_secs_f64();
        println!(
            "{} open of {}: learnt in {learnt:.3} s, forecast by {whole:.3} s",
            made.batches.len(),
            book.batches().len()
        );
    }
}
