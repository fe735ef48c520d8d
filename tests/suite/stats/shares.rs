//! Intervals of shares and resampling: published values, hand examples, laws.

use super::{assert_close, expected};
use struck::stats::bootstrap::{Draws, Resampling, percentile_intervals};
use struck::stats::shares::{Count, cluster_variance, jackknife_variance, share_of_counts, wilson};
use struck::stats::special::{normal_quantile, t_quantile};

#[test]
fn wilson_matches_the_published_intervals() {
    // Newcombe 1998, Statistics in Medicine 17:857, table I, and statsmodels.
    let mut checked = 0;
    for row in expected("expected_proportions_planning") {
        let Some((x, n)) = row.dataset.split_once('/') else {
            continue;
        };
        let z = match row.quantity.as_str() {
            "wilson_lo" | "wilson_hi" => normal_quantile(0.975),
            "wilson90_lo" | "wilson90_hi" => normal_quantile(0.95),
            _ => continue,
        };
        let found = wilson(x.parse().unwrap(), n.parse().unwrap(), z);
        row.check(if row.quantity.ends_with("lo") {
            found.low
        } else {
            found.high
        });
        checked += 1;
    }
    assert_eq!(checked, 28);
}

#[test]
fn replicates_that_differ_widen_the_interval() {
    let counts = |xs: &[f64]| xs.iter().map(|&x| Count { x, n: 20.0 }).collect::<Vec<_>>();
    let even = share_of_counts(&counts(&[10.0, 10.0, 10.0, 10.0]), 0.95).unwrap();
    assert_eq!(even.deff, Some(1.0));
    // By hand: mean 10, squares 36 × 4 = 144, variance 4/3 × 144 / 6400 = 0.03, binomial
    // 0.25 / 80 = 0.003125, design effect 9.6.
    let spread = share_of_counts(&counts(&[4.0, 16.0, 4.0, 16.0]), 0.95).unwrap();
    assert_close(spread.deff.unwrap(), 9.6, 1e-12);
    let by_hand = wilson(40.0 / 9.6, 80.0 / 9.6, t_quantile(0.975, 3.0));
    assert_eq!(spread.interval, by_hand);
    assert!(spread.interval.low < even.interval.low);
    let one = share_of_counts(&counts(&[10.0]), 0.95).unwrap();
    assert_eq!(
        (one.deff, one.interval),
        (None, wilson(10.0, 20.0, normal_quantile(0.975)))
    );
    assert_eq!(share_of_counts(&[], 0.95), None);
}

#[test]
fn the_jackknife_of_equal_replicates_is_the_cluster_variance() {
    let xs = [3.0, 7.0, 5.0, 9.0, 6.0];
    let counts: Vec<_> = xs.iter().map(|&x| Count { x, n: 10.0 }).collect();
    let total: f64 = xs.iter().sum();
    let left_out: Vec<f64> = xs.iter().map(|x| (total - x) / 40.0).collect();
    assert_close(
        jackknife_variance(&left_out),
        cluster_variance(&counts),
        1e-15,
    );
}

#[test]
fn resampling_is_seeded_and_sorts_what_is_beyond_last() {
    let how = Resampling {
        resamples: 999,
        seed: 7,
        level: 0.95,
    };
    let values = [1.0, 2.0, 3.0, 4.0, 5.0, f64::INFINITY];
    let mean = |times: &[usize]| {
        let drawn = times.iter().zip(values).filter(|(t, _)| **t > 0);
        [drawn.map(|(&t, value)| t as f64 * value).sum::<f64>() / 6.0]
    };
    let found = percentile_intervals(6, &how, mean).unwrap();
    assert_eq!(found, percentile_intervals(6, &how, mean).unwrap());
    assert!(found[0].low >= 1.0 && found[0].low < 3.5);
    assert_eq!(found[0].high, f64::INFINITY);
    assert!(percentile_intervals(4, &how, mean).is_none());
}

#[test]
fn the_interval_takes_the_25th_and_975th_of_999() {
    let how = Resampling {
        resamples: 999,
        seed: 1,
        level: 0.95,
    };
    let mut calls = 0.0;
    let count = |_: &[usize]| {
        calls += 1.0;
        [calls]
    };
    let found = percentile_intervals(5, &how, count).unwrap();
    assert_eq!((found[0].low, found[0].high), (25.0, 975.0));
}

#[test]
fn draws_are_even_and_pinned() {
    let mut draws = Draws::new(20_261_125);
    let mut seen = [0; 7];
    for _ in 0..70_000 {
        seen[draws.below(7)] += 1;
    }
    // 10 000 expected each, standard deviation 93.
    assert!(
        seen.iter().all(|&s: &i32| (s - 10_000).abs() < 450),
        "{seen:?}"
    );
    // ChaCha, eight rounds, key and nonce zero: first bytes 3e00ef2f895f40d6 (test vector TC1,
    // draft-strombergson-chacha-test-vectors).
    let first = u64::from_le_bytes([0x3e, 0x00, 0xef, 0x2f, 0x89, 0x5f, 0x40, 0xd6]);
    assert_eq!(
        Draws::new(0).unit(),
        (first >> 11) as f64 / (1_u64 << 53) as f64
    );
}
