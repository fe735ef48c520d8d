//! Which forecasts of single batches are judged: of journals left out in turn, of first and of later seasons. It judges none.

use super::journals::nursery;
use super::judge::{Judged, PARTS, left_out, on_days};
use super::rows::Row;
use super::simulated::kinds::{PLAIN, Truth, simulated};
use chrono::NaiveDate;
use std::ops::RangeInclusive;
use struck::fold::Book;
use struck::stats::workers::share_out;

/// Simulated journals of one season each, every one with taxa of its own: wood stages not written, and softwood followed
/// by semi-ripe wood that takes as long, half as long again, twice and a half as long.
const FIRST_SEASONS: [(&str, Option<f64>); 4] = [
    ("simulated", None),
    ("simulated, semi-ripe as long", Some(0.0)),
    ("simulated, semi-ripe 1.5 times as long", Some(0.405)),
    ("simulated, semi-ripe 2.5 times as long", Some(0.916)),
];
/// So many first seasons of each kind; of the sample nursery too.
const FIRSTS: u64 = 24;

/// Days on which the sample nursery is asked what is to come, a fortnight apart.
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

/// Its first season, of which it knows nothing beforehand, and the later ones.
const SEASONS: [(&str, RangeInclusive<i32>); 2] =
    [(FIRST, 2023..=2023), ("days of later seasons", 2024..=2026)];
const FIRST: &str = "days of its first season";

/// The nursery is drawn with these seeds, the first that of the sample journals; simulated journals with the first two.
const SEEDS: [u64; 6] = [41, 42, 43, 44, 45, 46];

/// Forecasts of one kind of journal, judged when asked for.
pub struct ForecastSet {
    pub name: String,
    pub rows: Box<dyn Fn() -> Vec<Row>>,
}

/// A journal by its seed.
type Draw = fn(u64) -> Book;

/// All that are judged in full.
pub fn sets() -> Vec<ForecastSet> {
    let left_out: [(&str, usize, Draw); 5] = [
        ("nursery", 6, nursery),
        ("simulated", 2, |seed| simulated(&PLAIN, seed)),
        ("simulated, correlation 0.2", 2, |seed| {
            simulated(&Truth { rho: 0.2, ..PLAIN }, seed)
        }),
        ("simulated, Weibull days", 2, |seed| {
            let weibull = true;
            simulated(&Truth { weibull, ..PLAIN }, seed)
        }),
        ("simulated, looks 14 d apart", 2, |seed| {
            simulated(&Truth { every: 14, ..PLAIN }, seed)
        }),
    ];
    let mut out: Vec<ForecastSet> = left_out
        .into_iter()
        .map(|(name, seeds, draw)| ForecastSet {
            name: format!("{name}, left out in turn"),
            rows: Box::new(move || of_parts(name, &SEEDS[..seeds], draw)),
        })
        .collect();
    for (name, semi_ripe) in FIRST_SEASONS {
        out.push(ForecastSet {
            name: format!("{name}, first seasons"),
            rows: Box::new(move || of_both(name, FIRST, &first_seasons(semi_ripe))),
        });
    }
    for (part, years) in SEASONS {
        out.push(ForecastSet {
            name: format!("nursery, {part}"),
            rows: Box::new(move || of_both("nursery", part, &past_days(years.clone()))),
        });
    }
    out
}

/// One small journal, for the short version.
pub fn short() -> ForecastSet {
    let draw: Draw = |seed| {
        let truth = Truth {
            batches: 60,
            taxa: 5,
            ..PLAIN
        };
        simulated(&truth, seed)
    };
    ForecastSet {
        name: "simulated, small".to_owned(),
        rows: Box::new(move || of_parts("simulated, small", &SEEDS[..1], draw)),
    }
}

fn of_both(name: &str, part: &str, judged: &Judged) -> Vec<Row> {
    let about = format!("{name}, {part}");
    let mut rows = judged.counts.rows(&about, "count");
    rows.extend(judged.days.rows(&about, "days"));
    rows
}

/// Each closed batch left out in turn, as of each part of its looks.
fn of_parts(name: &str, seeds: &[u64], draw: Draw) -> Vec<Row> {
    let mut sum = [Judged::default(); 4];
    for seed in seeds {
        let judged = left_out(&draw(*seed));
        sum.iter_mut().zip(&judged).for_each(|(s, j)| s.plus(j));
    }
    let each = PARTS.iter().zip(&sum).flat_map(|(part, judged)| {
        let part = match *part {
            0.0 => "when stuck".to_owned(),
            part => format!("{:.0} % of looks", 100.0 * part),
        };
        of_both(name, &part, judged)
    });
    each.collect()
}

/// Journals judged one by one, shared out among the cores; a journal's forecasts share its fate.
fn all_of(seeds: RangeInclusive<u64>, judge: impl Fn(u64) -> Judged + Sync) -> Judged {
    let first = *seeds.start();
    let count = (seeds.end() + 1 - first) as usize;
    let each = share_out(count, &mut |_| true, |at, _| {
        Some(judge(first + at as u64).closed())
    });
    let mut all = Judged::default();
    each.into_iter().flatten().for_each(|one| all.plus(&one));
    all
}

/// Simulated journals asked a fortnight apart from the first month to the sixth.
fn first_seasons(semi_ripe: Option<f64>) -> Judged {
    let start = NaiveDate::from_ymd_opt(2024, 1, 31).unwrap();
    let days: Vec<NaiveDate> = (0..11).map(|n| start + chrono::Days::new(14 * n)).collect();
    let truth = Truth {
        batches: 60,
        taxa: 16,
        semi_ripe,
        ..PLAIN
    };
    all_of(1..=FIRSTS, |seed| on_days(&simulated(&truth, seed), &days))
}

/// The nursery asked on days of some of its summers.
fn past_days(years: RangeInclusive<i32>) -> Judged {
    let year = |year| DAYS.map(|(month, day)| NaiveDate::from_ymd_opt(year, month, day).unwrap());
    let days: Vec<NaiveDate> = years.flat_map(year).collect();
    let seeds = if days.len() == DAYS.len() {
        FIRSTS
    } else {
        SEEDS.len() as u64
    };
    all_of(SEEDS[0]..=SEEDS[0] + seeds - 1, |seed| {
        on_days(&nursery(seed), &days)
    })
}
