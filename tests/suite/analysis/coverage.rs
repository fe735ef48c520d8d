//! How often the ranges of a timeline hold what is true, over simulated groups of 5 and of 10 batches that differ in how
//! many root and how soon, with losses and looks 5 to 14 days apart. A short version of a long calibration: few journals,
//! so that its bounds lie as far under what is asked (88 % each quantile, 92 % on average, 95 % of shares) as
//! chance can take so few.

use crate::support::simulated::ways::{Way, World, book};
use struck::analysis::timeline::{Figure, QuantileDay, TimelineOptions, timeline};
use struck::fold::batch::Milestone;
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
            let world = World {
                every,
                speeds: [SPEEDS[0], SPEEDS[1], 0.0],
                closed: Some(76),
                ..World::default()
            };
            let way = Way {
                facts: String::new(),
                batches: (batches, 24),
                strike: STRIKE,
                days: DAYS,
                spread: SPREAD,
                stuck: (0, 3),
            };
            let book = book(&world, &[way], 1_000 * every + seed);
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
