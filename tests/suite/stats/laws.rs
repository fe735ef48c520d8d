//! Laws that counts, permutations, forecasts' scores and air must obey whatever the numbers, and
//! agreement with an independent library of distributions.

use crate::support::crps;
use proptest::prelude::*;
use statrs::distribution::{Discrete, Hypergeometric};
use statrs::function::beta::ln_beta;
use statrs::function::factorial::ln_binomial;
use struck::stats::arrange::Layout;
use struck::stats::clusters::{Cluster, common_rho};
use struck::stats::counts::BetaBinomial;
use struck::stats::counts::Discrete as Chances;
use struck::stats::distributions::{normal_cdf, normal_quantile};
use struck::stats::permute::{self, Draw, Replicate, Studentised};
use struck::stats::tables::{Table2x2, WholeTable, fisher_exact};
use struck::stats::{air, clusters, mixing, tables, units};

use super::{assert_close, seeded};

/// A stratum of whole replicates, both arms in it.
fn stratum() -> impl Strategy<Value = Vec<Replicate>> {
    let one = |arm: u8| {
        (1u32..=20, 0.0f64..=1.0).prop_map(move |(n, share)| Replicate {
            arm,
            sum: (f64::from(n) * share).round(),
            weight: f64::from(n),
        })
    };
    let arms = (
        prop::collection::vec(one(0), 1..4),
        prop::collection::vec(one(1), 1..4),
    );
    arms.prop_map(|(first, second)| [first, second].concat())
}

fn swapped(strata: &[Vec<Replicate>]) -> Vec<Vec<Replicate>> {
    let swap = |r: &Replicate| Replicate {
        arm: 1 - r.arm,
        ..*r
    };
    strata
        .iter()
        .map(|s| s.iter().map(swap).collect())
        .collect()
}

/// Arms of exactly one share: whichever is called the first, rounding makes no difference of it.
#[test]
fn equal_shares_of_unequal_batches_are_no_difference() {
    let replicate = |arm, sum, weight| Replicate { arm, sum, weight };
    let strata = [vec![
        replicate(0, 0.0, 1.0),
        replicate(0, 1.0, 6.0),
        replicate(1, 3.0, 17.0),
        replicate(1, 2.0, 18.0),
    ]];
    for strata in [strata.to_vec(), swapped(&strata)] {
        let test = Studentised::new(&strata, seeded(7)).unwrap();
        assert_eq!(test.permuted().p, 1.0);
    }
}

/// The difference and its squared standard error under these labels, one replicate after the other by their definition.
fn plainly(strata: &[Vec<Replicate>], labels: &[u8]) -> (f64, f64) {
    let mut labels = labels.iter();
    let mut sides = Vec::new();
    let (mut above, mut below) = (0.0, 0.0);
    for stratum in strata {
        let total: f64 = stratum.iter().map(|r| r.weight).sum();
        let mean = stratum.iter().map(|r| r.sum).sum::<f64>() / total;
        let own: Vec<f64> = stratum
            .iter()
            .map(|_| if labels.next() == Some(&0) { 1.0 } else { 0.0 })
            .collect();
        let first = own.iter().zip(stratum).map(|(first, r)| first * r.weight);
        let part = first.sum::<f64>() / total;
        for (first, r) in own.iter().zip(stratum) {
            let (side, off) = (first - part, r.sum / r.weight - mean);
            above += r.weight * side * off;
            below += r.weight * side * side;
            sides.push((r.weight, total, side, off));
        }
    }
    let difference = above / below;
    let part = |(weight, total, side, off): &(f64, f64, f64, f64)| {
        let rest = 1.0 - weight * (1.0 / total + side * side / below);
        let residual = off - difference * side;
        let told = (weight * side * residual / below).powi(2) / rest;
        if rest > 1e-9 { told } else { 0.0 }
    };
    (difference, sides.iter().map(part).sum())
}

/// The interval holds its value, ends where the test begins to reject, and turns with the arms.
fn interval_agrees_with_p(strata: &[Vec<Replicate>]) -> Result<(), TestCaseError> {
    let draw = seeded(7);
    let test = Studentised::new(strata, draw).unwrap();
    let ends = test.interval(0.95);
    let (low, high) = (ends.low, ends.high);
    prop_assert!(low <= test.difference() + 1e-9 && test.difference() <= high + 1e-9);
    // By the meaning of the interval: the replicates with an end taken off are rejected just outside of it,
    // and not just inside.
    for end in [low, high].into_iter().filter(|end| end.is_finite()) {
        let far = end - test.difference();
        for (part, inside) in [(1.0 - 1e-4, true), (1.0 + 1e-4, false)] {
            let shift = test.difference() + part * far;
            let take = |r: &Replicate| Replicate {
                sum: if r.arm == 0 {
                    r.sum - shift * r.weight
                } else {
                    r.sum
                },
                ..*r
            };
            let moved: Vec<Vec<_>> = strata
                .iter()
                .map(|s| s.iter().map(take).collect())
                .collect();
            let p = Studentised::new(&moved, draw).unwrap().permuted().p;
            prop_assert!(
                (p > 0.05 + 1e-9) == inside,
                "{shift} by {low}..{high}: p {p}"
            );
        }
    }
    let turned = Studentised::new(&swapped(strata), draw)
        .unwrap()
        .interval(0.95);
    prop_assert!(turned.low == -high || (turned.low + high).abs() < 1e-6);
    Ok(())
}

/// Of twenty arrangements two are always as far out as the one observed, so that none is ever rejected.
#[test]
fn an_interval_that_nothing_ends_is_infinite_however_far_it_is_sought() {
    let each = [
        (0, 1.0, 1.0),
        (0, 0.0, 1.0),
        (0, 0.0, 6.0),
        (1, 0.0, 19.0),
        (1, 2.0, 7.0),
        (1, 0.0, 18.0),
    ];
    let stratum = each.map(|(arm, sum, weight)| Replicate { arm, sum, weight });
    let found = Studentised::new(&[stratum.to_vec()], seeded(7)).unwrap();
    let ends = found.interval(0.95);
    assert!(found.permuted().smallest_p > 0.05);
    assert_eq!((ends.low, ends.high), (f64::NEG_INFINITY, f64::INFINITY));
}

/// The test rejects on the way from the estimate to no difference, holds there and beyond, and rejects further out.
#[test]
fn an_interval_goes_on_from_no_difference_where_the_test_holds_there() {
    let stratum = |replicates: &[(u8, f64, f64)]| -> Vec<Replicate> {
        let each = replicates.iter();
        each.map(|&(arm, sum, weight)| Replicate { arm, sum, weight })
            .collect()
    };
    let strata = [
        stratum(&[(0, 0.0, 6.0), (1, 0.0, 1.0), (1, 7.0, 9.0), (1, 9.0, 11.0)]),
        stratum(&[(0, 1.0, 5.0), (0, 3.0, 11.0), (1, 2.0, 4.0), (1, 2.0, 4.0)]),
    ];
    let found = Studentised::new(&strata, seeded(7)).unwrap().interval(0.95);
    assert!(found.low < 0.0 && found.high > 1e-3, "{found:?}");
    interval_agrees_with_p(&strata).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn every_arrangement_is_weighed_by_the_definition(
        strata in prop::collection::vec(stratum(), 1..4),
        drawn in any::<bool>(),
    ) {
        let draw = Draw { draws: 45, all_up_to: if drawn { 0.0 } else { 1e5 }, ..seeded(7) };
        let labels = strata.iter().map(|stratum| stratum.iter().map(|r| r.arm).collect());
        let layout = Layout::new(&labels.collect::<Vec<_>>());
        let squared = |labels: &[u8]| {
            let (difference, variance) = plainly(&strata, labels);
            match (difference.abs() > 1e-9, variance > 1e-18) {
                (false, _) => 0.0,
                (true, true) => difference * difference / variance,
                (true, false) => f64::INFINITY,
            }
        };
        let bar = squared(layout.labels()) * (1.0 - 1e-8);
        let (mut far, mut whole) = (0_usize, 0_usize);
        layout.each(draw.seed, draw.draws, draw.all_up_to, |labels| {
            far += usize::from(squared(labels) >= bar);
            whole += 1;
        });
        let test = Studentised::new(&strata, draw).unwrap();
        let (difference, variance) = plainly(&strata, layout.labels());
        prop_assert!((test.difference() - difference).abs() < 1e-12);
        prop_assert!((test.standard_error() - variance.sqrt()).abs() < 1e-12);
        let found = test.permuted();
        prop_assert_eq!(found.arrangements, whole);
        prop_assert_eq!(found.p, far as f64 / whole as f64);
    }

    #[test]
    fn a_permutation_p_is_a_share_and_knows_no_side(strata in prop::collection::vec(stratum(), 1..3)) {
        let draw = seeded(7);
        let test = Studentised::new(&strata, draw).unwrap();
        let turned = Studentised::new(&swapped(&strata), draw).unwrap();
        let (one, other) = (test.permuted(), turned.permuted());
        prop_assert!(one.p > 0.0 && one.p <= 1.0);
        prop_assert!(one.p >= one.smallest_p - 1e-12);
        prop_assert!(one.exact);
        prop_assert!((test.difference() + turned.difference()).abs() < 1e-12);
        prop_assert!((test.standard_error() - turned.standard_error()).abs() < 1e-12);
        prop_assert_eq!(one, other);
    }

    #[test]
    fn an_inverted_interval_holds_its_value_and_agrees_with_p(
        strata in prop::collection::vec(stratum(), 1..3),
    ) {
        interval_agrees_with_p(&strata)?;
    }

    #[test]
    fn fishers_p_agrees_with_the_hypergeometric(a in 0u32..30, b in 0u32..30, c in 0u32..30, d in 0u32..30) {
        let tested = fisher_exact(WholeTable { yes: [a, b], no: [c, d] });
        let turned = fisher_exact(WholeTable { yes: [b, a], no: [d, c] });
        prop_assert!((0.0..=1.0).contains(&tested.p));
        prop_assert!((tested.p - turned.p).abs() < 1e-12);
        prop_assert!((tested.p_less - turned.p_greater).abs() < 1e-12);
        let total = u64::from(a + b + c + d);
        if total > 0 {
            let margin = Hypergeometric::new(total, u64::from(a + b), u64::from(a + c)).unwrap();
            let less: f64 = (0..=u64::from(a)).map(|x| margin.pmf(x)).sum();
            prop_assert!((tested.p_less - less).abs() < 1e-9);
            let seen = margin.pmf(u64::from(a)) * (1.0 + 1e-7);
            let all = (0..=u64::from(a + c)).map(|x| margin.pmf(x));
            let both: f64 = all.filter(|p| *p <= seen).sum();
            prop_assert!((tested.p - both).abs() < 1e-9);
        }
    }

    #[test]
    fn beta_binomial_chances_sum_to_one_with_the_known_moments(
        n in 1u32..120, mu in 0.0f64..=1.0, rho in 0.0f64..=1.0,
    ) {
        let model = BetaBinomial::new(mu, rho).unwrap();
        let counts = model.counts(n);
        let mean = f64::from(n) * mu;
        prop_assert!((counts.mean() - mean).abs() < 1e-7);
        let each = counts.chances().iter().zip(0..);
        let variance: f64 = each.map(|(chance, y)| chance * (f64::from(y) - mean).powi(2)).sum();
        prop_assert!((variance - model.variance(n)).abs() < 1e-6);
        let half = n as usize / 2;
        prop_assert!((counts.at_most(half) + counts.at_least(half + 1) - 1.0).abs() < 1e-12);
        let y = counts.quantile(0.3);
        prop_assert!(counts.at_most(y) >= 0.3 - 1e-11);
        prop_assert!(y == 0 || counts.at_most(y - 1) < 0.3);
    }

    /// The chance of y is C(n, y) B(y + α, n − y + β) / B(α, β), by the library's gamma functions.
    #[test]
    fn beta_binomial_chances_are_those_of_the_formula(n in 1u32..120, mu in 0.02f64..0.98, rho in 0.01f64..0.9) {
        let counts = BetaBinomial::new(mu, rho).unwrap().counts(n);
        let (alpha, beta) = (mu * (1.0 / rho - 1.0), (1.0 - mu) * (1.0 / rho - 1.0));
        for y in 0..=n {
            let (reached, rest) = (f64::from(y) + alpha, f64::from(n - y) + beta);
            let log = ln_binomial(u64::from(n), u64::from(y)) + ln_beta(reached, rest) - ln_beta(alpha, beta);
            prop_assert!((counts.chance(y as usize) - log.exp()).abs() < 1e-9, "{y}");
        }
    }

    #[test]
    fn a_turned_table_turns_every_pooled_figure(
        cells in prop::collection::vec([0u32..20, 0u32..20, 0u32..20, 0u32..20], 1..4),
    ) {
        let strata: Vec<Table2x2> = cells
            .iter()
            .map(|c| c.map(f64::from))
            .map(|[a, b, c, d]| Table2x2 { yes: [a, b], no: [c, d] })
            .collect();
        let turn = |s: &Table2x2| Table2x2 { yes: [s.yes[1], s.yes[0]], no: [s.no[1], s.no[0]] };
        let turned: Vec<Table2x2> = strata.iter().map(turn).collect();
        let one = tables::risk_difference(&strata, 0.95, 1.5);
        let other = tables::risk_difference(&turned, 0.95, 1.5);
        prop_assert_eq!(one.is_some(), other.is_some());
        if let (Some(one), Some(other)) = (one, other) {
            prop_assert!((one.value + other.value).abs() < 1e-12);
            prop_assert!((-1.0..=1.0).contains(&one.value));
            prop_assert!(one.interval.low <= one.value && one.value <= one.interval.high);
        }
        for corrected in [false, true] {
            if let Some(tested) = tables::cochran_mantel_haenszel(&strata, corrected) {
                prop_assert!((0.0..=1.0).contains(&tested.p));
            }
        }
        if let Some(q) = tables::homogeneity(&strata, 1.0) {
            prop_assert!(q.chi2 >= 0.0 && (0.0..=1.0).contains(&q.p));
        }
    }

    #[test]
    fn air_agrees_with_itself(t in -20.0f64..50.0, rh in 1.0f64..=100.0) {
        let dew = air::dew_point(t, rh).unwrap();
        let held = air::vapour_pressure_kpa(t, rh).unwrap();
        prop_assert!(dew <= t + 1e-9);
        if dew >= air::AIR_RANGE_C.0 {
            prop_assert!((air::saturation_kpa(dew).unwrap() - held).abs() < 1e-12);
        }
        let wet = air::wet_bulb(t, rh, air::SEA_LEVEL_KPA).unwrap();
        prop_assert!(dew <= wet + 1e-6 && wet <= t + 1e-6, "{dew} {wet} {t}");
        prop_assert!(air::deficit_kpa(t, rh).unwrap() >= 0.0);
        let same = air::leaf_deficit_kpa(t, t, rh).unwrap();
        prop_assert!((same - air::deficit_kpa(t, rh).unwrap()).abs() < 1e-12);
        prop_assert!((units::fahrenheit_to_celsius(units::celsius_to_fahrenheit(t)) - t).abs() < 1e-12);
    }

    #[test]
    fn a_dilution_keeps_the_substance(stock in 1.0f64..1e5, share in 0.001f64..=1.0, volume in 1.0f64..1e4) {
        let mixed = mixing::dilute(stock, stock * share, volume).unwrap();
        prop_assert!((mixed.stock + mixed.diluent - volume).abs() < 1e-9 * volume);
        let back = mixing::by_parts(stock, mixed.stock, mixed.diluent.max(0.0)).unwrap();
        prop_assert!((back - stock * share).abs() < 1e-9 * stock);
    }

    #[test]
    fn holm_only_ever_raises(ps in prop::collection::vec(0.0f64..=1.0, 0..8)) {
        let raised = permute::holm(&ps);
        for (p, q) in ps.iter().zip(&raised) {
            prop_assert!(q >= p && *q <= 1.0);
        }
    }

    #[test]
    fn a_sample_scores_as_its_own_distribution(sample in prop::collection::vec(0usize..12, 1..30), came in 0usize..12) {
        let mut weights = vec![0.0; 12];
        for &count in &sample {
            weights[count] += 1.0;
        }
        let chances = Chances::from_weights(weights).unwrap();
        let draws: Vec<f64> = sample.iter().map(|&x| x as f64).collect();
        let by_sample = crps::of_sample(&draws, came as f64).unwrap();
        prop_assert!((by_sample - crps::of_counts(&chances, came)).abs() < 1e-9);
    }
}

#[test]
fn holms_correction_by_hand() {
    // 3 × 0.01, then 2 × 0.02, then the floor of the one before over 1 × 0.03.
    let raised = permute::holm(&[0.03, 0.01, 0.02]);
    for (got, wanted) in raised.iter().zip([0.04, 0.03, 0.04]) {
        assert_close(*got, wanted, 1e-15);
    }
    assert_eq!(permute::holm(&[]), Vec::<f64>::new());
}

#[test]
fn a_score_is_the_absolute_error_of_a_certain_forecast() {
    let certain = Chances::certain(7);
    assert_eq!(crps::of_counts(&certain, 4), 3.0);
    assert_eq!(crps::of_counts(&certain, 12), 5.0);
    // Even chances of 0 and 1, and 0 came: (½)² once.
    let even = Chances::from_weights(vec![1.0, 1.0]).unwrap();
    assert_eq!(crps::of_counts(&even, 0), 0.25);
    assert_eq!(crps::of_sample(&[], 1.0), None);
}

#[test]
fn a_normal_sample_scores_as_published() {
    // Gneiting & Raftery 2007, equation 5, for the standard normal and an outcome of x:
    // x(2Φ(x) − 1) + 2φ(x) − 1/√π.
    let sample: Vec<f64> = (0..20_000)
        .map(|i| normal_quantile((f64::from(i) + 0.5) / 20_000.0))
        .collect();
    for x in [0.0_f64, 0.7, -2.0] {
        let pi = std::f64::consts::PI;
        let density = (-0.5 * x * x).exp() / (2.0 * pi).sqrt();
        let wanted = x * (2.0 * normal_cdf(x) - 1.0) + 2.0 * density - 1.0 / pi.sqrt();
        assert_close(crps::of_sample(&sample, x).unwrap(), wanted, 1e-4);
    }
}

#[test]
fn beta_binomial_ends_are_plain() {
    let chances = |mu: f64, rho: f64| BetaBinomial::new(mu, rho).unwrap().counts(4);
    assert_eq!(chances(0.0, 0.3).chances(), [1.0, 0.0, 0.0, 0.0, 0.0]);
    assert_eq!(chances(1.0, 0.0).chances(), [0.0, 0.0, 0.0, 0.0, 1.0]);
    for (got, wanted) in chances(0.25, 1.0)
        .chances()
        .iter()
        .zip([0.75, 0.0, 0.0, 0.0, 0.25])
    {
        assert_close(*got, wanted, 1e-15);
    }
    let binomial = chances(0.5, 0.0);
    for (got, wanted) in binomial.chances().iter().zip([1.0, 4.0, 6.0, 4.0, 1.0]) {
        assert_close(*got, wanted / 16.0, 1e-12);
    }
    // ρ = 1/3 with μ = ½ is the beta distribution with α = β = 1: every count as likely.
    for got in chances(0.5, 1.0 / 3.0).chances() {
        assert_close(*got, 0.2, 1e-12);
    }
    assert_eq!(
        BetaBinomial::new(0.3, 0.2).unwrap().counts(0).chances(),
        [1.0]
    );
    assert!(BetaBinomial::new(0.5, f64::NAN).is_err());
    assert!(BetaBinomial::from_alpha_beta(0.0, 1.0).is_err());
}

#[test]
fn correlations_stand_at_the_ends_of_their_range() {
    let clusters = |counts: &[(u32, u32)]| -> Vec<Cluster> {
        counts
            .iter()
            .map(|&(reached, of)| Cluster { reached, of })
            .collect()
    };
    let rho = |counts: &[(u32, u32)]| common_rho(&[clusters(counts)]);
    // All or none in every cluster.
    assert_eq!(rho(&[(12, 12), (0, 8), (5, 5), (0, 3)]), Some(1.0));
    // Less than binomial spread: no correlation.
    assert_eq!(rho(&[(6, 12), (6, 12), (6, 12)]), Some(0.0));
    // One outcome, or one cutting a batch, says nothing on correlation.
    assert_eq!(rho(&[(0, 12), (0, 8)]), None);
    assert_eq!(rho(&[(1, 1), (0, 1), (1, 1)]), None);
    assert_eq!(clusters::spread(&clusters(&[(3, 12)])), None);
    assert_eq!(clusters::design_effect(&[], 0.1), None);
    assert_close(
        clusters::design_effect(&[12.0; 8], 0.1).unwrap(),
        2.1,
        1e-12,
    );
    // Sizes 10 and 30: a cutting finds itself among 1000/40 = 25 on average.
    assert_close(
        clusters::design_effect(&[10.0, 30.0], 0.1).unwrap(),
        3.4,
        1e-12,
    );
}

#[test]
fn drawn_arrangements_come_near_all_of_them_and_repeat_by_seed() {
    let replicate = |i: u32| Replicate {
        arm: (i % 2) as u8,
        sum: f64::from((i * 7 + (i % 2) * 3) % 13),
        weight: 12.0,
    };
    let trial = vec![(0..16).map(replicate).collect::<Vec<_>>()];
    let all = Studentised::new(&trial, seeded(3)).unwrap().permuted();
    let few = Draw {
        all_up_to: 0.0,
        ..seeded(3)
    };
    let drawn = Studentised::new(&trial, few).unwrap().permuted();
    assert!(all.exact && !drawn.exact);
    assert_eq!((all.arrangements, drawn.arrangements), (12_870, 10_000));
    let error = (all.p * (1.0 - all.p) / 10_000.0).sqrt();
    assert!(
        (all.p - drawn.p).abs() < 4.0 * error,
        "{} {}",
        all.p,
        drawn.p
    );
    let again = Studentised::new(&trial, few).unwrap();
    assert_eq!(again.permuted(), drawn);
    let by_all = Studentised::new(&trial, seeded(3)).unwrap().interval(0.95);
    let by_draw = again.interval(0.95);
    assert!((by_all.low - by_draw.low).abs() < 0.02 && (by_all.high - by_draw.high).abs() < 0.02);
}
