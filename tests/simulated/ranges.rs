//! One group of batches whose share and days are known, and whether a timeline's 95 % ranges hold them.

use super::ways::{Way, World, book};
use struck::analysis::timeline::{Figure, QuantileDay, TimelineOptions, timeline};
use struck::fold::batch::Milestone;
use struck::stats::distributions::normal_quantile;

const STRIKE: f64 = 0.7;
const DAYS: f64 = 28.0;
/// Standard deviation of ln days within a batch and between batches.
const SPEEDS: [f64; 2] = [0.2, 0.12];

/// What held.
pub struct HeldRanges {
    /// The share's; nothing where no share was given.
    pub share: Option<bool>,
    /// Of the days of 10, 50 and 90 % of those that root.
    pub days: [bool; 3],
}

/// So many batches, looked at every so many days; `spread` is the standard deviation of a batch's effect on the logit of its
/// share.
pub fn held_ranges(
    batches: u32,
    every: u64,
    spread: f64,
    resamples: usize,
    seed: u64,
) -> HeldRanges {
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
        spread,
        stuck: (0, 3),
    };
    let options = TimelineOptions {
        resamples,
        ..TimelineOptions::default()
    };
    let found = timeline(&book(&world, &[way], seed), &options, &mut |_, _| true).unwrap();
    let group = &found.groups[0];
    let truth = true_share(spread);
    let share = group.strike.value();
    let reached = &group.figures(Milestone::Root).days.reached.0;
    let held = |at: usize, q| matches!(&reached[at], Figure::Value(day) if holds(day, true_day(q)));
    HeldRanges {
        share: share.map(|it| (it.low..=it.high).contains(&truth)),
        days: [held(0, 0.1), held(1, 0.5), held(2, 0.9)],
    }
}

/// The share that roots over all batches, the mean over their logits.
fn true_share(spread: f64) -> f64 {
    let middle = (STRIKE / (1.0 - STRIKE)).ln();
    let each = (0..2_000).map(|at| {
        let z = normal_quantile((f64::from(at) + 0.5) / 2_000.0);
        1.0 / (1.0 + (-(middle + spread * z)).exp())
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
