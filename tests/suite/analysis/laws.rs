//! Laws that hold between the answers, whatever the journal: each tried on simulated journals with effects of batches and
//! of seasons, losses, looks of many rhythms and at parts, early potting, plants made ready in lots, failed trays thrown out.

use super::timelines::in_order;
use crate::commands::run::Home;
use crate::fold::lives::{date, entry};
use crate::support::simulated::ways::{Way, World, journal};
use chrono::NaiveDate;
use std::io::Write;
use struck::analysis::due::{DueReason, due};
use struck::analysis::expect::Model;
use struck::analysis::forecast::BatchForecast;
use struck::analysis::review::{ReviewOptions, review};
use struck::analysis::timeline::{Timeline, TimelineOptions, timeline};
use struck::analysis::trials::answer::{Basis, Comparison};
use struck::analysis::trials::{TrialOptions, compare};
use struck::fold::Book;
use struck::fold::batch::{Batch, Milestone};
use struck::fold::selection::{Selection, select};
use struck::journal::codec::encode;
use struck::model::entry::Entry;
use struck::model::filter::GroupKey;
use struck::model::listed::Wood;
use struck::text::dates::Calendar;
use struck::text::forecast::first_of_all;

/// Journals of two wood stages of one taxon, five batches of each. `closed`: whether all are followed to their end.
fn worlds(closed: bool) -> Vec<Vec<Entry>> {
    (0..6)
        .map(|seed| {
            let odd = seed % 2 == 1;
            let world = World {
                every: 5 + seed,
                together: seed == 5,
                speeds: [0.2, 0.1, if odd { 0.1 } else { 0.0 }],
                season: if odd { 0.4 } else { 0.0 },
                losses: [0.2, 0.5, 0.9][seed as usize % 3],
                parts: if odd { 0.0 } else { 0.3 },
                potted_at: if seed % 3 == 0 { 0.5 } else { 2.0 },
                thrown_out: if seed % 4 == 0 { 0.2 } else { 0.0 },
                closed: closed.then_some(84),
                until: if closed { 1000 } else { 60 },
            };
            let way = |wood: &str, strike: f64, days: f64| Way {
                facts: format!("wood={wood} place=bench"),
                batches: (5, 24),
                strike,
                days,
                spread: 0.4,
                stuck: (0, 5),
            };
            let ways = [way("softwood", 0.7, 21.0), way("semi-ripe", 0.5, 26.0)];
            journal(&world, &ways, seed)
        })
        .collect()
}

fn book(entries: &[Entry]) -> Book {
    Book::from_entries(entries.iter().cloned())
}

fn by_wood(book: &Book) -> Timeline {
    let options = TimelineOptions {
        by: vec![GroupKey::Wood],
        resamples: 0,
        ..TimelineOptions::default()
    };
    timeline(book, &options, &mut |_, _| true).unwrap()
}

fn compared(book: &Book) -> Comparison {
    let options = TrialOptions {
        by: vec![GroupKey::Wood],
        milestones: vec![Milestone::Root],
        draws: 99,
        ..TrialOptions::default()
    };
    let answer = compare(book, &options, &mut |_, _| true).unwrap();
    answer.comparisons.into_iter().next().unwrap()
}

#[test]
fn shares_compared_are_the_timelines_where_all_ended() {
    for entries in worlds(true) {
        let book = book(&entries);
        let (timeline, comparison) = (by_wood(&book), compared(&book));
        assert_eq!(comparison.basis, Basis::AsTheyEnded);
        let shares: Vec<f64> = comparison
            .arms
            .iter()
            .map(|arm| {
                let same = |wood: &Option<String>| wood.as_deref() == Some(&*arm.name);
                let group = timeline.groups.iter().find(|it| same(&it.by[0].1)).unwrap();
                let seen = group.strike.value().unwrap().value;
                let share = arm.reached.unwrap().value;
                assert!((share - seen).abs() < 1e-9, "{share} {seen}");
                seen
            })
            .collect();
        let pair = &comparison.pairs[0];
        let apart = shares[pair.arms[0]] - shares[pair.arms[1]];
        let difference = pair.strike.difference.unwrap().value;
        assert!((difference - apart).abs() < 1e-9, "{difference} {apart}");
    }
}

#[test]
fn what_a_plan_takes_for_a_fresh_batch_forecast_due_and_review_take_too() {
    for entries in worlds(true) {
        // Nothing beyond the bench: what counts as a plant is the rooted cutting.
        let mut entries: Vec<Entry> = entries
            .into_iter()
            .filter(|it| !matches!(it.kind.word(), "pot" | "ready" | "discard"))
            .collect();
        let stick = "stick batch=N taxon=Weigela_florida wood=softwood stuck=40";
        entries.push(entry("N", 0, stick));
        let book = book(&entries);
        let model = Model::learn(&book, date(0), &[]);
        let batch = book.by_code("N").next().unwrap();
        let forecast = model.forecast(batch).unwrap();
        let season = Some(book.season(date(0)));
        let ladder = model.ladder(&batch.taxon, Some(Wood::Softwood), season);
        let expected = forecast.count.mean() / 40.0;
        let planned = ladder.mean();
        assert!((planned - expected).abs() < 0.02, "{planned} {expected}");
        let days = model.expected_days(&book, batch).unwrap();
        let due = f64::from(days.age(Milestone::Root, 50).unwrap());
        let half = forecast.half.unwrap().middle;
        assert!((due - half).abs() <= 2.0, "{due} {half}");
        let options = ReviewOptions::new(book.season(date(0)), date(0));
        let review = review(&book, &options, &mut |_, _| true).unwrap();
        let quoted = review.kinds[0].expected.unwrap();
        assert!(
            (quoted.value - expected).abs() < 0.02,
            "{quoted:?} {expected}"
        );
        assert!(quoted.low < quoted.value && quoted.value < quoted.high);
    }
}

#[test]
fn a_chance_by_a_day_never_falls_and_never_passes_the_one_in_the_end() {
    for entries in worlds(true) {
        let book = book(&entries);
        let model = Model::learn(&book, date(0), &[]);
        let taxon = &book.batches()[0].taxon;
        for wood in [Wood::Softwood, Wood::SemiRipe] {
            let ladder = model.ladder(taxon, Some(wood), None);
            for sizes in [vec![24], vec![30; 4]] {
                let whole: u32 = sizes.iter().sum();
                for wanted in [1, whole / 4, whole / 2] {
                    let end = ladder.tail_by(&sizes, f64::INFINITY)(wanted);
                    let by = |step: u32| ladder.tail_by(&sizes, f64::from(20 * step))(wanted);
                    let chances: Vec<f64> = (1..12).map(by).collect();
                    let rises = |pair: &[f64]| pair[0] <= pair[1] + 1e-9;
                    assert!(chances.windows(2).all(rises), "{chances:?}");
                    assert!(chances.iter().all(|chance| *chance <= end + 1e-9));
                }
            }
        }
    }
}

#[test]
fn milestones_keep_their_order_in_every_table() {
    for entries in worlds(true).into_iter().chain(worlds(false)) {
        let book = book(&entries);
        by_wood(&book).groups.iter().for_each(in_order);
        let model = Model::learn(&book, last_day(&book), &[]);
        for batch in book.batches() {
            let Some(days) = model.expected_days(&book, batch) else {
                continue;
            };
            for percent in [50, 90] {
                let root = days.age(Milestone::Root, percent);
                let bottom = days.age(Milestone::Bottom, percent);
                assert!(bottom.is_none_or(|bottom| root <= Some(bottom)), "{days:?}");
            }
        }
    }
}

fn last_day(book: &Book) -> NaiveDate {
    book.batches()
        .iter()
        .map(|batch| batch.last_day())
        .max()
        .unwrap()
}

#[test]
fn a_batch_that_is_failing_or_not_looked_at_says_so_wherever_it_is_forecast() {
    let (mut failing, mut unseen) = (0, 0);
    for entries in worlds(false) {
        let book = book(&entries);
        for on in [last_day(&book), last_day(&book) + chrono::Days::new(120)] {
            let model = Model::learn(&book, on, &[]);
            let list = due(&book, on, Some(&model));
            for batch in book.batches().iter().filter(|batch| batch.is_open()) {
                let forecast = BatchForecast::new(&model, batch).unwrap();
                let said = first_of_all(&forecast, Calendar::for_book(&book, on));
                let doubtful = !forecast.failing.is_empty() || forecast.lost_sight_of;
                assert_eq!(doubtful, !said.is_empty(), "{said:?}");
                if let Some(item) = list.items.iter().find(|item| item.key == batch.key) {
                    let first = matches!(item.reasons[0], DueReason::Failing(_));
                    assert_eq!(first, !forecast.failing.is_empty(), "{item:?}");
                }
                failing += usize::from(!forecast.failing.is_empty());
                unseen += usize::from(forecast.lost_sight_of);
            }
        }
    }
    assert!(failing > 0 && unseen > 0, "{failing} {unseen}");
}

#[test]
fn no_closed_batch_differs_from_its_own_account() {
    for entries in worlds(true) {
        let book = book(&entries);
        let (batches, _) = select(&book, &Selection::default());
        for it in batches.iter().filter(|it| it.account.is_closed()) {
            // No cutting that roots dies here, and all that rooted are potted.
            let reached = it.account.milestone(Milestone::Root).reached;
            let potted = f64::from(it.batch.counts.potted);
            assert!((reached - potted).abs() < 1e-9, "{reached} {potted}");
        }
    }
}

#[test]
fn the_order_of_entries_changes_nothing() {
    for entries in worlds(false) {
        let mut turned = entries.clone();
        turned.reverse();
        let (half, rest) = turned.split_at(turned.len() / 3);
        let turned: Vec<Entry> = rest.iter().chain(half).cloned().collect();
        let (one, other) = (book(&entries), book(&turned));
        assert_eq!(by_wood(&one), by_wood(&other));
        let on = last_day(&one);
        let models = [&one, &other].map(|book| Model::learn(book, on, &[]));
        assert_eq!(
            due(&one, on, Some(&models[0])),
            due(&other, on, Some(&models[1]))
        );
        let forecasts = |book: &Book, model: &Model| -> Vec<Option<BatchForecast>> {
            let each = book.batches().iter();
            each.map(|batch: &std::sync::Arc<Batch>| BatchForecast::new(model, batch))
                .collect()
        };
        assert_eq!(forecasts(&one, &models[0]), forecasts(&other, &models[1]));
    }
}

/// What the commands answer of a journal whose lines lie in the files of these names, in the order in which they come.
fn answers(lines: &[(String, &Entry)]) -> Vec<String> {
    let home = Home::new().at("2024-05-10T12:00:00Z");
    std::fs::create_dir_all(home.journal()).unwrap();
    for (file, entry) in lines {
        let path = home.journal().join(file);
        let mut open = std::fs::OpenOptions::new();
        let mut open = open.create(true).append(true).open(path).unwrap();
        open.write_all(&encode(entry).unwrap()).unwrap();
        open.write_all(b"\n").unwrap();
    }
    let asked = [
        "timeline --by wood --resamples 0 --json",
        "compare --by wood --json",
        "forecast --json",
        "due --json",
        "batches --json",
    ];
    let each = asked.iter().map(|words| {
        let said = home.struck(&words.split(' ').collect::<Vec<_>>());
        assert_eq!(said.code, 0, "{words}: {}", said.err);
        said.out
    });
    each.collect()
}

#[test]
fn how_lines_are_shared_out_among_files_changes_nothing() {
    for entries in worlds(false).into_iter().take(3) {
        let one: Vec<(String, &Entry)> = entries.iter().map(|it| ("a.jsonl".into(), it)).collect();
        let whole = answers(&one);
        // In turn among three files; each batch in a file of its own, the last lines first.
        let turn = |(at, it)| (format!("{}.jsonl", at % 3), it);
        let in_turn: Vec<(String, &Entry)> = entries.iter().enumerate().map(turn).collect();
        let own = |it: &Entry| {
            let id = it.id.to_string();
            format!("{}.jsonl", id.split('-').next().unwrap())
        };
        let apart: Vec<(String, &Entry)> = entries.iter().rev().map(|it| (own(it), it)).collect();
        assert_eq!(answers(&in_turn), whole);
        assert_eq!(answers(&apart), whole);
    }
}

/// Seventeen batches looked at once each, on days 23 to 37, say only that roots came by then: a fresh batch is not late on day
/// 5, nor is half of it expected to have rooted by day 7.
#[test]
fn batches_looked_at_once_each_hurry_no_fresh_batch() {
    let mut entries: Vec<Entry> = Vec::new();
    for n in 0..17_u64 {
        let life = [
            (
                0,
                "stick taxon=Weigela_florida wood=softwood stuck=24".to_owned(),
            ),
            (23 + n % 15, format!("look how=lift rooted={}", 18 + n % 5)),
        ];
        for (at, (age, text)) in life.into_iter().enumerate() {
            let text = format!("{text} batch=B{n:02}");
            entries.push(entry(&format!("B{n:02}-{at}"), 3 * n + age, &text));
        }
    }
    let stick = "stick batch=N taxon=Weigela_florida wood=softwood stuck=40";
    entries.push(entry("N", 300, stick));
    let book = book(&entries);
    let model = Model::learn(&book, date(305), &[]);
    let list = due(&book, date(305), Some(&model));
    let item = list.items.iter().find(|item| item.code == "N").unwrap();
    assert!(item.in_days > 0, "{item:?}");
    let forecast = BatchForecast::new(&model, book.by_code("N").next().unwrap()).unwrap();
    let half = forecast.half.unwrap();
    assert!(half.middle > 10.0 && half.p80.low > 7.0, "{half:?}");
    // What was seen gives no day that nobody could have seen: only the day by which half had rooted.
    let days = &by_wood(&book).groups[0].milestones[Milestone::Root as usize]
        .days
        .all;
    assert!(
        days.0[1].value().is_none_or(|day| day.at.value().is_none()),
        "{days:?}"
    );
}
