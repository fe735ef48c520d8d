//! What is expected: plants by their own day, old looks, failing batches, seasons, and the laws that hold between answers.

use crate::fold::lives::{book_of, date, entry};
use crate::support::simulated::plants::{SimulatedLife, SimulatedTruth};
use chrono::Days;
use struck::analysis::due::{DueReason, due_on};
use struck::analysis::expect::Model;
use struck::analysis::forecast::BatchForecast;
use struck::analysis::plan::{PlantsWanted, StickingWindow, choice, plans, targets};
use struck::analysis::review::{ReviewOptions, review};
use struck::model::at::At;
use struck::model::entry::Entry;
use struck::model::listed::Wood;
use struck::model::taxon::Taxon;
use struck::stats::dice::Dice;

fn weigela() -> Taxon {
    Taxon::parse("Weigela florida")
}

fn wanted(plants: u32, by: u64) -> PlantsWanted {
    PlantsWanted {
        taxon: weigela(),
        wood: None,
        plants,
        by: date(by),
        assurance: 0.9,
        target: None,
    }
}

/// Batch `code` of 24, stuck on a day: all rooted by day 40 and potted, six plants ready on each of days 70, 90, 110 and 130.
fn in_lots(code: &str, day: u64) -> Vec<Entry> {
    let steps = [
        (0, "stick taxon=Weigela_florida wood=softwood stuck=24"),
        (20, "look how=lift rooted=6"),
        (30, "look how=lift rooted=18"),
        (40, "look how=lift rooted=24"),
        (40, "pot count=24"),
        (70, "ready count=6"),
        (90, "ready count=6"),
        (110, "ready count=6"),
        (130, "ready count=6"),
    ];
    let place = format!("place=p{code}");
    let each = steps.iter().enumerate().map(|(at, (age, text))| {
        let place = if at == 0 { place.as_str() } else { "" };
        let text = format!("{text} batch={code} {place}");
        entry(&format!("{code}-{at}"), day + age, &text)
    });
    each.collect()
}

fn lots() -> Vec<Entry> {
    (0..8)
        .flat_map(|n| in_lots(&format!("H{n}"), 5 * n))
        .collect()
}

#[test]
fn a_plan_reckons_with_each_plant_s_own_day_and_not_with_the_batch_s_first() {
    let book = book_of(&lots());
    let model = Model::learn(&book, date(300), &[]);
    let found = plans(&book, &model, &[wanted(40, 900)], None, &mut |_, _| true).unwrap();
    let offer = &found.plans[0].offers[0];
    let (latest, by) = (offer.latest.unwrap(), date(900));
    // The last quarter is ready on day 130: eleven weeks are by far too few.
    assert!((by - latest).num_days() >= 110, "{offer:?}");
    assert!(
        offer.chance >= 0.9 && (42..=75).contains(&offer.stick),
        "{offer:?}"
    );
    let ladder = model.ladder(&weigela(), offer.wood, None);
    let early = ladder.tail_by(&offer.batches, 77.0);
    assert!(early(40) < 0.1, "{}", early(40));
    // About a quarter of a batch is ready by day 77.
    let quarter: f64 = (1..=24).map(ladder.tail_by(&[24], 77.0)).sum();
    assert!((2.0..=10.0).contains(&quarter), "{quarter}");
}

#[test]
fn a_fresh_batch_makes_no_plants_by_the_day_of_its_first() {
    let mut entries = lots();
    entries.push(entry(
        "N",
        300,
        "stick taxon=Weigela_florida wood=softwood stuck=24 batch=N",
    ));
    let book = book_of(&entries);
    let model = Model::learn(&book, date(300), &[]);
    let batch = book.by_code("N").next().unwrap();
    let wait = |days: u64| {
        choice(&book, &model, batch, 20, date(300 + days))
            .unwrap()
            .wait
    };
    assert!(wait(80) < 0.1, "{}", wait(80));
    let chances = [60, 80, 100, 120, 140, 200, 400].map(wait);
    assert!(chances.is_sorted(), "{chances:?}");
    assert!(chances[6] > 0.5, "{chances:?}");
}

#[test]
fn the_first_plants_made_ready_change_no_plan() {
    let mut entries = lots();
    let steps = [
        (
            0,
            "stick taxon=Weigela_florida wood=softwood stuck=15 place=q",
        ),
        (40, "look how=lift rooted=15"),
        (41, "pot count=15"),
    ];
    for (at, (age, text)) in steps.iter().enumerate() {
        entries.push(entry(
            &format!("Q-{at}"),
            230 + age,
            &format!("{text} batch=Q"),
        ));
    }
    let stick = |entries: &[Entry]| {
        let book = book_of(entries);
        let model = Model::learn(&book, date(310), &[]);
        let found = plans(&book, &model, &[wanted(200, 900)], None, &mut |_, _| true).unwrap();
        f64::from(found.plans[0].offers[0].stick)
    };
    let before = stick(&entries);
    entries.push(entry("Q-3", 305, "ready count=10 batch=Q"));
    let after = stick(&entries);
    assert!((after / before - 1.0).abs() < 0.1, "{before} {after}");
}

/// By a day is never likelier than by a later one, nor than in the end; more cuttings never make less likely.
#[test]
fn a_chance_never_falls_with_the_day_and_never_exceeds_that_of_the_end() {
    let book = book_of(&lots());
    let model = Model::learn(&book, date(300), &[]);
    let ladder = model.ladder(&weigela(), Some(Wood::Softwood), None);
    for sizes in [vec![24], vec![30, 30, 29], vec![100; 9]] {
        let end = ladder.tail_by(&sizes, f64::INFINITY);
        let whole: u32 = sizes.iter().sum();
        for wanted in [1, whole / 4, whole / 2, whole * 3 / 4, whole] {
            let by = |day: f64| ladder.tail_by(&sizes, day)(wanted);
            let chances: Vec<f64> = (1..40).map(|step| by(f64::from(10 * step))).collect();
            let rises = |pair: &[f64]| pair[0] <= pair[1] + 1e-9;
            assert!(
                chances.windows(2).all(rises),
                "{sizes:?} {wanted} {chances:?}"
            );
            assert!(chances[38] <= end(wanted) + 1e-9, "{sizes:?} {wanted}");
        }
    }
}

/// What a plan takes for a fresh batch is what a forecast says of one just stuck.
#[test]
fn a_plan_and_a_forecast_expect_the_same_of_a_fresh_batch() {
    let truth = SimulatedTruth::default();
    let mut dice = Dice::new(7);
    let mut entries: Vec<Entry> = Vec::new();
    for n in 0..8 {
        let life = truth.life(&format!("S{n}"), 4 * n, (40, 7), [0.0; 2], &mut dice);
        // Nothing beyond the bench: what counts as a plant is the rooted cutting.
        entries.extend(
            life.entries
                .into_iter()
                .filter(|e| !matches!(e.kind.word(), "pot" | "ready" | "discard")),
        );
    }
    entries.push(entry(
        "N",
        200,
        "stick taxon=Weigela_florida wood=softwood stuck=40 batch=N",
    ));
    let book = book_of(&entries);
    let model = Model::learn(&book, date(200), &[]);
    let forecast = model.forecast(book.by_code("N").next().unwrap()).unwrap();
    let season = book.season(date(200));
    let share = model
        .ladder(&weigela(), Some(Wood::Softwood), Some(season))
        .mean();
    assert!(
        (share - forecast.count.mean() / 40.0).abs() < 0.02,
        "{share} {}",
        forecast.count.mean()
    );
}

#[test]
fn what_nobody_looked_at_since_counts_for_nothing() {
    let mut entries = lots();
    entries.push(entry(
        "T",
        160,
        "target taxon=Weigela_florida count=20 by_date=2027-05-01",
    ));
    entries.push(entry(
        "N-0",
        180,
        "stick taxon=Weigela_florida wood=softwood stuck=40 batch=N",
    ));
    entries.push(entry("N-1", 205, "look how=lift rooted=12 batch=N"));
    let book = book_of(&entries);
    let hand = |day: u64| {
        let model = Model::learn(&book, date(day), &[]);
        let asked = targets(&book, date(day), 0.9);
        let found = plans(&book, &model, &asked, None, &mut |_, _| true).unwrap();
        let hand = &found.plans[0].hand;
        let batch = BatchForecast::new(&model, book.by_code("N").next().unwrap()).unwrap();
        (hand.expected, batch)
    };
    let (soon, fresh) = hand(207);
    let (later, older) = hand(230);
    let (old, lost) = hand(205 + 101);
    assert!(
        soon > 20.0 && later < soon && old < 0.5,
        "{soon} {later} {old}"
    );
    assert_eq!(
        [fresh.unseen_days, older.unseen_days, lost.unseen_days],
        [2, 25, 101]
    );
    assert!(fresh.standing > older.standing && !older.lost_sight_of && lost.lost_sight_of);
    let calendar = struck::text::dates::Calendar::for_book(&book, date(306));
    let said = struck::text::forecast::first_of_all(&lost, calendar);
    assert!(said[0].starts_with("Not looked at since"), "{said:?}");
    assert!(struck::text::forecast::short(&lost, calendar).starts_with("Not looked at since"));
}

#[test]
fn a_failing_batch_says_so_first_and_its_loss_goes_on() {
    let with = |second: &str| {
        let mut entries = lots();
        entries.push(entry(
            "N-0",
            180,
            "stick taxon=Weigela_florida wood=softwood stuck=40 batch=N",
        ));
        entries.push(entry("N-1", 194, "look how=lift lost.blackened=2 batch=N"));
        entries.push(entry(
            "N-2",
            201,
            &format!("look how=lift rooted=8 {second} batch=N"),
        ));
        let book = book_of(&entries);
        let model = Model::learn(&book, date(202), &[]);
        let batch = BatchForecast::new(&model, book.by_code("N").next().unwrap()).unwrap();
        let due = due_on(&book, date(202));
        let item = due.items.iter().find(|item| item.code == "N").unwrap();
        let fails = matches!(item.reasons[0], DueReason::Failing(_));
        assert_eq!(fails, !batch.failing.is_empty());
        let calendar = struck::text::dates::Calendar::for_book(&book, date(202));
        let first = struck::text::forecast::first_of_all(&batch, calendar);
        (batch, first)
    };
    let (sound, said) = with("");
    assert!(sound.failing.is_empty() && said.is_empty());
    let (failing, said) = with("lost.blackened=7");
    assert!(
        said[0].starts_with("Failing: blackening spreads: lost 2 of 40 in 14 days"),
        "{said:?}"
    );
    // Seven died; many more will.
    assert!(
        failing.count.mean < sound.count.mean - 6.0,
        "{:?} {:?}",
        failing.count,
        sound.count
    );
}

#[test]
fn two_of_the_last_eight_lost_are_no_alarm_once_most_were_potted() {
    let mut entries = lots();
    entries.push(entry(
        "N-0",
        180,
        "stick taxon=Weigela_florida wood=softwood stuck=40 batch=N",
    ));
    entries.push(entry("N-1", 210, "look how=lift rooted=32 batch=N"));
    entries.push(entry("N-2", 211, "pot count=32 batch=N"));
    entries.push(entry("N-3", 218, "look how=lift lost.wilted=2 batch=N"));
    let book = book_of(&entries);
    let model = Model::learn(&book, date(218), &[]);
    assert!(model.failing(book.by_code("N").next().unwrap()).is_empty());
}

#[test]
fn hardwood_is_first_looked_at_by_cover_and_heat_and_by_its_own_history_first() {
    let first = |facts: &str, others: &[Entry]| {
        let mut entries = others.to_vec();
        let stick = format!("stick taxon=Weigela_florida wood=hardwood stuck=30 batch=N {facts}");
        entries.push(entry("N", 300, &stick));
        let due = due_on(&book_of(&entries), date(300));
        let item = due.items.iter().find(|item| item.code == "N").unwrap();
        item.in_days
    };
    assert_eq!(first("cover=open", &[]), 120);
    assert_eq!(first("cover=frame", &[]), 60);
    assert_eq!(first("cover=frame heat_c=18", &[]), 28);
    let own: Vec<Entry> = (0..3)
        .flat_map(|n| {
            let text = [
                format!("stick taxon=Weigela_florida wood=hardwood stuck=30 batch=W{n} cover=open place=w{n}"),
                format!("look how=lift rooted=0 batch=W{n}"),
                format!("look how=lift rooted=20 batch=W{n}"),
                format!("look how=lift rooted=28 batch=W{n}"),
            ];
            let days = [0, 80, 95, 110];
            let each = text.into_iter().zip(days).enumerate();
            each.map(|(at, (text, age))| entry(&format!("W{n}-{at}"), n + age, &text))
                .collect::<Vec<_>>()
        })
        .collect();
    let day = first("cover=open", &own);
    assert!((75..=100).contains(&day), "{day}");
}

/// A leap year moves no day of the calendar.
#[test]
fn a_window_keeps_its_days_in_every_year() {
    let stuck = |year: i32| {
        (0..3_u64).map(move |n| {
            let id = format!("{year}-{n}");
            let first = chrono::NaiveDate::from_ymd_opt(year, 5, 24).unwrap() + Days::new(n);
            let text = format!("stick taxon=Weigela_florida wood=softwood stuck=9 batch=L{n}");
            let mut it = entry(&id, 0, &text);
            it.at = At::parse(&first.to_string()).unwrap();
            it
        })
    };
    for year in [2024, 2023] {
        let entries: Vec<Entry> = stuck(year).collect();
        let book = book_of(&entries);
        let window =
            StickingWindow::for_taxon(&book, &weigela(), Some(Wood::Softwood), date(0)).unwrap();
        for shown in [2024, 2025] {
            let (first, last) = window.days_in(shown).unwrap();
            let worded = [first, last].map(|day| day.format("%m-%d").to_string());
            assert_eq!(worded, ["05-24", "05-26"], "{year} {shown}");
        }
    }
}

/// What is met on the season's page is met in the plan, whenever the target was entered.
#[test]
fn a_target_is_as_far_in_the_plan_as_in_the_season() {
    let mut entries = lots();
    entries.push(entry(
        "T",
        150,
        "target taxon=Weigela_florida count=60 by_date=2026-12-20",
    ));
    let book = book_of(&entries);
    let on = date(180);
    let model = Model::learn(&book, on, &[]);
    let found = plans(
        &book,
        &model,
        &targets(&book, on, 0.9),
        None,
        &mut |_, _| true,
    )
    .unwrap();
    let options = ReviewOptions::new(2026, on);
    let review = review(&book, &options, &mut |_, _| true).unwrap();
    let plan = &found.plans[0];
    assert_eq!(plan.hand.ready, review.planned[0].ready);
    assert!(
        plan.hand.ready >= 60 && plan.hand.chance > 0.99,
        "{:?}",
        plan.hand
    );
}

/// Two seasons of a nursery of the same truth: the first closed long ago, of the second the fresh batches are foretold.
fn seasons(truth: &SimulatedTruth, seed: u64) -> (Vec<Entry>, Vec<SimulatedLife>) {
    let mut dice = Dice::new(seed);
    let mut entries = Vec::new();
    for year in 0..4_u64 {
        let season = truth.season(&mut dice);
        for n in 0..6 {
            let life = truth.life(
                &format!("Y{year}{n}"),
                365 * year + 6 * n,
                (40, 7),
                season,
                &mut dice,
            );
            entries.extend(life.entries);
        }
    }
    let season = truth.season(&mut dice);
    let fresh = (0..3)
        .map(|n| truth.life(&format!("F{n}"), 365 * 4 + n, (40, 7), season, &mut dice))
        .collect();
    (entries, fresh)
}

/// Of an odd year's fresh batches the ranges hold as often as they say, within sampling error (batches of a season share its
/// fate: each season counts as one and a half batches).
#[test]
fn ranges_of_fresh_batches_hold_in_odd_years() {
    let truth = SimulatedTruth {
        season: [0.6, 0.12],
        ..SimulatedTruth::default()
    };
    let (mut held, mut all) = ([0.0; 2], 0.0);
    const SEASONS: u64 = 16;
    for seed in 1..=SEASONS {
        let (mut entries, fresh) = seasons(&truth, seed);
        entries.extend(fresh.iter().map(|life| life.entries[0].clone()));
        let book = book_of(&entries);
        let model = Model::learn(&book, date(365 * 4 + 3), &[]);
        for (n, life) in fresh.iter().enumerate() {
            let batch = book.by_code(&format!("F{n}")).next().unwrap();
            let forecast = model.forecast(batch).unwrap();
            for (at, chance) in [0.5, 0.8].into_iter().enumerate() {
                let (low, high) = forecast.count_range(chance);
                held[at] += f64::from(u8::from((low..=high).contains(&(life.rooted as usize))));
            }
            all += 1.0;
        }
    }
    let error = |share: f64| (share * (1.0 - share) / (1.5 * SEASONS as f64)).sqrt();
    for (held, claimed) in held.into_iter().zip([0.5, 0.8]) {
        let share = held / all;
        assert!(
            share > claimed - 2.5 * error(claimed),
            "{share} of {claimed}"
        );
        assert!(
            share < claimed + 3.0 * error(claimed).max(0.12),
            "{share} of {claimed}"
        );
    }
}

/// Batches whose losses are the ordinary ones are called failing in one of twenty at most; spreading rot is told in four of five,
/// at the median before 15 % are blackened.
#[test]
fn ordinary_losses_raise_no_alarm_and_rot_does() {
    let truth = SimulatedTruth {
        strike: 1.27,
        dying: 0.05,
        ..SimulatedTruth::default()
    };
    let (mut flagged, mut sound) = (0, 0);
    let (mut told, mut rotten, mut shares) = (0, 0, Vec::new());
    for seed in 1..=2 {
        let mut dice = Dice::new(seed);
        let mut entries: Vec<Entry> = Vec::new();
        for n in 0..20 {
            let life = truth.life(&format!("H{n}"), 2 * n, (40, 7), [0.0; 2], &mut dice);
            entries.extend(life.entries);
        }
        for n in 0..20 {
            let life = truth.life(&format!("S{n}"), 365 + n % 7, (40, 7), [0.0; 2], &mut dice);
            entries.extend(life.entries);
        }
        // Rot that doubles from look to look.
        for n in 0..10_u64 {
            let mut dead = 0;
            let stick =
                format!("stick taxon=Weigela_florida wood=softwood stuck=40 batch=R{n} place=r{n}");
            entries.push(entry(&format!("R{n}-0"), 365, &stick));
            for (look, lost) in [1, 2, 5, 11].into_iter().enumerate() {
                dead += lost;
                let text = format!("look how=lift lost.blackened={lost} batch=R{n}");
                entries.push(entry(
                    &format!("R{n}-{}", look + 1),
                    365 + 7 + 7 * look as u64,
                    &text,
                ));
            }
            assert!(dead < 40);
        }
        let book = book_of(&entries);
        let mut alarmed: std::collections::HashMap<String, f64> = std::collections::HashMap::new();
        for day in (365 + 7..365 + 49).step_by(7) {
            // Of the days between, the last look is that of the week.
            let on = date(day + 6);
            let model = Model::learn(&book, on, &[]);
            for batch in book.batches().iter().filter(|b| b.stuck_on >= date(365)) {
                if !model.failing(batch).is_empty() {
                    let counts = batch.counts_on(on).unwrap();
                    let lost = f64::from(counts.stuck - counts.remain() - counts.potted);
                    alarmed.entry(batch.code.clone()).or_insert(lost / 40.0);
                }
            }
        }
        sound += 20;
        flagged += alarmed.keys().filter(|code| code.starts_with('S')).count();
        rotten += 10;
        let rot = alarmed.iter().filter(|(code, _)| code.starts_with('R'));
        shares.extend(rot.map(|(_, share)| *share));
        told = shares.len();
    }
    // One in twenty within sampling error: five of forty or fewer in all but one case of a hundred.
    assert!(flagged <= 5, "{flagged} of {sound}");
    assert!(told * 5 >= rotten * 4, "{told} of {rotten}");
    shares.sort_by(f64::total_cmp);
    assert!(shares[shares.len() / 2] <= 0.21, "{shares:?}");
}
