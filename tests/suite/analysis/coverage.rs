//! How often the ranges of a timeline hold what is true, over simulated groups of 5 and of 10 batches that differ in how
//! many root and how soon, with losses and looks 5 to 14 days apart. A short version of a long calibration: few journals,
//! so that its bounds lie as far under what is asked (88 % each quantile, 92 % on average, 95 % of shares) as
//! chance can take so few.

use crate::support::simulated::ranges::held_ranges;

/// Journals of each size and rhythm.
const JOURNALS: u64 = 10;
const RESAMPLES: usize = 99;
/// Standard deviation of a batch's effect on the logit of its share: a correlation near 0.1.
const SPREAD: f64 = 0.7;

#[test]
fn ranges_hold_what_is_true() {
    let (mut shares, mut days, mut all) = (0, [0; 3], 0);
    for (batches, every) in [(5, 5), (5, 9), (5, 14), (10, 5), (10, 9), (10, 14)] {
        for seed in 0..JOURNALS {
            let held = held_ranges(batches, every, SPREAD, RESAMPLES, 1_000 * every + seed);
            shares += usize::from(held.share.unwrap());
            for (sum, held) in days.iter_mut().zip(held.days) {
                *sum += usize::from(held);
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
