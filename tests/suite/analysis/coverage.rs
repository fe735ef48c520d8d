//! How often the ranges of a timeline hold what is true, over simulated groups of 5 and of 10 batches that differ in how
//! many root and how soon, with losses and looks 5 to 14 days apart. A short version of a long calibration: few journals,
//! so that its bounds lie as far under what is asked (88 % each quantile, 92 % on average, 95 % of shares) as
//! chance can take so few.

use crate::fold::lives::{book_of, entry};
use struck::analysis::timeline::{Figure, QuantileDay, TimelineOptions, timeline};
use struck::fold::batch::Milestone;
use struck::model::entry::Entry;
use struck::stats::dice::Dice;
use struck::stats::distributions::normal_quantile;

/// Journals of each size and rhythm.
const JOURNALS: u64 = 10;
const RESAMPLES: usize = 99;
const STRIKE: f64 = 0.7;
const DAYS: f64 = 28.0;
/// Standard deviation of a batch's effect on the logit of its share: a correlation near 0.1.
const SPREAD: f64 = 0.7;
/// Standard deviation of ln days within a batch and between batches.
const SPEEDS: [f64; 2] = [0.2, 0.12];

fn normal(dice: &mut Dice) -> f64 {
    normal_quantile(dice.unit().clamp(1e-12, 1.0 - 1e-12))
}

/// Cuttings of a batch.
const STUCK: usize = 24;
/// On the first look after this day what has rooted is potted and the rest given up.
const CLOSED: u64 = 75;

/// One batch from sticking to its end: looked at every so many days from a day of its own on.
fn live(number: u32, every: u64, dice: &mut Dice, out: &mut Vec<Entry>) {
    let logit = (STRIKE / (1.0 - STRIKE)).ln() + SPREAD * normal(dice);
    let share = 1.0 / (1.0 + (-logit).exp());
    let middle = DAYS.ln() + SPEEDS[1] * normal(dice);
    // The days on which each roots, and on which half of those that never will are lost.
    let mut bench: Vec<(f64, u64)> = (0..STUCK)
        .map(|_| match dice.unit() < share {
            true => ((middle + SPEEDS[0] * normal(dice)).exp(), u64::MAX),
            false if dice.unit() < 0.5 => (f64::INFINITY, 5 + u64::from(dice.below(60))),
            false => (f64::INFINITY, u64::MAX),
        })
        .collect();
    let (start, mut age) = (
        3 * u64::from(number),
        1 + u64::from(dice.below(every as u32)),
    );
    let mut line = 0;
    let mut write = |age: u64, text: String| {
        let (kind, rest) = text.split_once(' ').unwrap();
        line += 1;
        let text = format!("{kind} batch=S{number} {rest}");
        out.push(entry(
            &format!("S{number:03}-{line:03}"),
            start + age,
            &text,
        ));
    };
    write(
        0,
        format!("stick taxon=Weigela_florida stuck={STUCK} place=p{number}"),
    );
    loop {
        let before = bench.len();
        bench.retain(|(_, lost)| *lost > age);
        let lost = before - bench.len();
        let rooted = bench.iter().filter(|(day, _)| *day <= age as f64).count();
        write(
            age,
            format!("look how=lift rooted={rooted} lost.blackened={lost}"),
        );
        if age > CLOSED {
            let rest = bench.len() - rooted;
            write(age, format!("pot count={rooted}"));
            write(age, format!("discard count={rest} why=given-up"));
            return;
        }
        age += every;
    }
}

/// The share that roots over all batches, the mean over their logits.
fn true_share() -> f64 {
    let middle = (STRIKE / (1.0 - STRIKE)).ln();
    let each = (0..2_000).map(|at| {
        let z = normal_quantile((f64::from(at) + 0.5) / 2_000.0);
        1.0 / (1.0 + (-(middle + SPREAD * z)).exp())
    });
    each.sum::<f64>() / 2_000.0
}

/// The whole day by which that share of those that root have.
fn true_day(q: f64) -> f64 {
    let spread = SPEEDS[0].hypot(SPEEDS[1]);
    (DAYS * (spread * normal_quantile(q)).exp()).ceil()
}

fn holds(day: &QuantileDay, truth: f64) -> bool {
    let low = day.low.value().copied().unwrap_or(f64::INFINITY);
    let high = day.high.value().copied().unwrap_or(f64::INFINITY);
    low < truth && truth <= high
}

#[test]
fn ranges_hold_what_is_true() {
    let (mut shares, mut days, mut all) = (0, [0; 3], 0);
    for (batches, every) in [(5, 5), (5, 9), (5, 14), (10, 5), (10, 9), (10, 14)] {
        for seed in 0..JOURNALS {
            let options = TimelineOptions {
                resamples: RESAMPLES,
                ..TimelineOptions::default()
            };
            let mut dice = Dice::new(1_000 * every + seed);
            let mut entries = Vec::new();
            for number in 0..batches {
                live(number, every, &mut dice, &mut entries);
            }
            let book = book_of(&entries);
            let found = timeline(&book, &options, &mut |_, _| true).unwrap();
            let group = &found.groups[0];
            let strike = group.strike.value().unwrap();
            shares += usize::from((strike.low..=strike.high).contains(&true_share()));
            let reached = group.figures(Milestone::Root).days.reached.0;
            for (held, (day, q)) in days.iter_mut().zip(reached.iter().zip([0.1, 0.5, 0.9])) {
                *held += usize::from(matches!(day, Figure::Value(day) if holds(day, true_day(q))));
            }
            all += 1;
        }
    }
    let part = |held: usize| held as f64 / f64::from(all);
    let each = days.map(part);
    println!(
        "{all} journals: shares {:.2}, days {each:.2?}",
        part(shares)
    );
    assert!(part(shares) >= 0.88, "shares {:.3}", part(shares));
    assert!(each.iter().all(|held| *held >= 0.8), "{each:.3?}");
    assert!(each.iter().sum::<f64>() / 3.0 >= 0.87, "{each:.3?}");
}
