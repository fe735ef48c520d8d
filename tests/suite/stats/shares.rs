//! Intervals of shares and resampling: published values, hand examples, laws.

use super::{assert_close, expected};
use struck::stats::bootstrap::{Resampling, expanded_intervals, percentile_intervals};
use struck::stats::correlation::{CorrelationPrior, correlated_share};
use struck::stats::correlation::{trigamma, variance_prior};
use struck::stats::dice::Dice;
use struck::stats::distributions::{normal_quantile, t_quantile};
use struck::stats::shares::{Count, Interval, cluster_variance, jackknife_variance, wilson};

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
    let prior = CorrelationPrior::UNINFORMED;
    let range = |variance: f64| correlated_share(0.5, &[20.0; 4], variance, &prior, 0.95);
    // By hand: of 4, 16, 4 and 16 of 20 the variance of the share is 4/3 × 144 / 6400 = 0.03, the binomial one
    // 0.25 / 80 = 0.003125, their ratio 9.6, so the replicates' own correlation 8.6 / 19 on three degrees of freedom.
    let own = (9.6 - 1.0) / 19.0;
    let pooled = (4.0 * 0.15 + 3.0 * own) / 7.0;
    let found = range(0.03);
    assert_close(found.correlation, pooled, 1e-12);
    assert_close(found.deff, 1.0 + 19.0 * pooled, 1e-12);
    let effective = 80.0 / found.deff;
    let by_hand = wilson(0.5 * effective, effective, t_quantile(0.975, 7.0));
    assert_close(found.interval.low, by_hand.low, 1e-12);
    assert_close(found.interval.high, by_hand.high, 1e-12);
    assert!(found.interval.low < range(0.0).interval.low);
    // One replicate has no correlation of its own.
    let one = correlated_share(0.5, &[20.0], 0.0, &prior, 0.95);
    assert_close(one.correlation, 0.15, 1e-15);
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
    let mut dice = Dice::stream(20_261_125, 0);
    let mut seen = [0; 7];
    for _ in 0..70_000 {
        seen[dice.place(7)] += 1;
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
        Dice::stream(0, 0).unit(),
        (first >> 11) as f64 / (1_u64 << 53) as f64
    );
}

#[test]
fn variances_are_moderated_as_smyth_does() {
    // Smyth 2004, section 6.2, by hand: samples of 2 degrees of freedom have e = log s² + γ, since ψ(1) = −γ. With log s² of
    // ±π/√6 their variance is π²/3, less ψ′(1) = π²/6 leaves π²/6 = ψ′(d₀/2): d₀ = 2, and s₀² = exp(γ + ψ(1)) = 1.
    let away = (std::f64::consts::PI / 6.0_f64.sqrt()).exp();
    let prior = variance_prior(&[(away, 2.0), (1.0 / away, 2.0)]).unwrap();
    assert_close(prior.df, 2.0, 1e-9);
    assert_close(prior.scale, 1.0, 1e-9);
    // Variances that differ by less than chance have infinitely many: s₀² is the geometric mean, corrected.
    let prior = variance_prior(&[(3.0, 2.0), (3.0, 2.0)]).unwrap();
    assert!(prior.df.is_infinite());
    assert_close(prior.scale, 3.0 * 0.577_215_664_901_532_9_f64.exp(), 1e-9);
    assert!(variance_prior(&[(3.0, 2.0)]).is_none());
    // Abramowitz & Stegun 1964, 6.4.2 and 6.4.4: ψ′(1/2) = π²/2, ψ′(1) = π²/6.
    assert_close(trigamma(0.5), std::f64::consts::PI.powi(2) / 2.0, 1e-11);
    assert_close(trigamma(1.0), std::f64::consts::PI.powi(2) / 6.0, 1e-12);
}

#[test]
fn the_expanded_tail_is_hesterbergs() {
    // Hesterberg 2015, section 3.2: the tail is Φ(−√(n/(n − 1)) t). For 5 replicates t at 97.5 % on 4 degrees of freedom is
    // 2.776445 (any t table), times √1.25 is 3.104159, of which Φ leaves 0.000954; so that of 9 999 resamples the ninth
    // from either end counts. The statistic gives the sum of the numbers of the replicates drawn.
    let how = Resampling {
        resamples: 9_999,
        seed: 3,
        level: 0.95,
    };
    let mut asked = std::collections::BTreeSet::new();
    let mut sum = |times: &Vec<usize>| {
        // What was drawn before is known.
        assert!(asked.insert(times.clone()));
        let each = times.iter().zip(1..);
        let sum: f64 = each.map(|(n, at)| *n as f64 * f64::from(at)).sum();
        [Interval {
            low: sum - 0.5,
            high: sum + 0.5,
        }]
    };
    let sums = |draws: &[Vec<usize>]| draws.iter().map(&mut sum).collect();
    let [found] = expanded_intervals(5, &how, &mut || true, sums).unwrap();
    assert_eq!(asked.len(), 126);
    let sum = |number| {
        let mut dice = Dice::stream(3, number);
        (0..5).map(|_| 1.0 + dice.place(5) as f64).sum::<f64>()
    };
    let mut sums: Vec<f64> = (0..9_999).map(sum).collect();
    sums.sort_by(f64::total_cmp);
    assert_close(found.low, sums[8] - 0.5, 1e-12);
    assert_close(found.high, sums[9_999 - 9] + 0.5, 1e-12);
    let none = |_: &[Vec<usize>]| -> Vec<[Interval; 1]> { Vec::new() };
    assert!(expanded_intervals(5, &how, &mut || false, none).is_none());
}

#[test]
fn correlations_are_learnt_from_groups_and_shrunk() {
    let group = |each: &[f64]| {
        each.iter()
            .map(|x| Count { x: *x, n: 20.0 })
            .collect::<Vec<_>>()
    };
    assert_eq!(
        CorrelationPrior::of_groups(&[]),
        CorrelationPrior::UNINFORMED
    );
    // A group of which all rooted, or of one replicate, tells none.
    let mute = [group(&[20.0, 20.0]), group(&[7.0])];
    assert_eq!(
        CorrelationPrior::of_groups(&mute),
        CorrelationPrior::UNINFORMED
    );
    // Batches that differ by chance alone draw it down, batches wholly apart draw it up; never past the ends.
    let even: Vec<_> = (0..40).map(|_| group(&[9.0, 10.0, 11.0])).collect();
    let apart: Vec<_> = (0..40).map(|_| group(&[0.0, 10.0, 20.0])).collect();
    let (even, apart) = (
        CorrelationPrior::of_groups(&even),
        CorrelationPrior::of_groups(&apart),
    );
    assert!(
        even.correlation < 0.01 && apart.correlation > 0.4,
        "{even:?} {apart:?}"
    );
    assert!(
        [even, apart]
            .iter()
            .all(|prior| (2.0..=8.0).contains(&prior.df))
    );
}

#[test]
fn students_quantile_is_exact_at_many_degrees_of_freedom() {
    // Any table of t at 97.5 %: 2.0086 at 50, 1.9840 at 100, 1.9623 at 1000; the further digits are from memory.
    let printed = [
        (50.0, 2.008_559_112),
        (100.0, 1.983_971_519),
        (999.0, 1.962_341_461),
        (1_000.0, 1.962_339_081),
        (100_000.0, 1.959_987_708),
    ];
    for (n, t) in printed {
        assert_close(t_quantile(0.975, n), t, 1e-6);
    }
    assert_close(t_quantile(0.975, 1e9), 1.959_963_985, 1e-8);
}
