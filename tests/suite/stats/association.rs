//! Associations within strata against a reference library and by their laws.
//!
//! Reference values: scipy 1.17.1 (`stats.spearmanr`, `stats.linregress`, `stats.rankdata`,
//! `stats.permutation_test` over all pairings or all signs), worked out once for the numbers below.

use struck::stats::association::{Membership, association, cramers_v, paired, ranks, rho, slope};
use struck::stats::bootstrap::Resampling;

use super::assert_close;

const X: [f64; 10] = [0.42, 0.51, 0.38, 0.77, 0.63, 0.51, 0.95, 0.29, 0.58, 0.70];
const Y: [f64; 10] = [0.05, 0.10, 0.08, 0.22, 0.10, 0.12, 0.30, 0.02, 0.15, 0.15];
const HOW: Resampling = Resampling {
    resamples: 999,
    seed: 1,
    level: 0.95,
};

fn pairs(x: &[f64], y: &[f64]) -> Vec<(f64, f64)> {
    x.iter().copied().zip(y.iter().copied()).collect()
}

fn near(a: f64, b: f64, by: f64) {
    assert!((a - b).abs() <= by, "{a} for {b}");
}

#[test]
fn one_stratum_is_spearman_with_ties() {
    let set = [pairs(&X, &Y)];
    near(rho(&set).unwrap(), 0.920_493_600_874_192_4, 1e-12);
    near(slope(&set).unwrap(), 0.396_344_258_537_703_44, 1e-12);
    assert_eq!(
        ranks(&X),
        [3.0, 4.5, 2.0, 9.0, 7.0, 4.5, 10.0, 1.0, 6.0, 8.0]
    );
}

#[test]
fn p_is_that_of_all_pairings() {
    let (x, y) = (
        [3.1, 1.2, 4.8, 2.2, 9.0, 7.7],
        [2.0, 1.0, 2.5, 3.0, 2.2, 2.8],
    );
    let it = association(&[pairs(&x, &y)], &HOW, 99_999).unwrap();
    near(it.rho, 0.257_142_857_142_857_2, 1e-12);
    near(it.slope, 0.089_798_160_098_860_37, 1e-12);
    // All 720 pairings: 0.658 333; drawn, within four standard errors.
    near(it.p, 0.658_333_333_333_333_3, 0.006);
    near(it.smallest_p, 2.0 / 720.0, 1e-15);
}

#[test]
fn signs_are_flipped_as_the_reference_flips_them() {
    let it = paired(&[0.8, 1.2, -0.3, 2.1, 0.4, 1.5, -0.6, 0.9], &HOW, 99_999).unwrap();
    near(it.p, 0.0625, 0.004);
    near(it.mean, 0.75, 1e-12);
    near(it.smallest_p, 2.0 / 256.0, 1e-15);
    let ends = it.interval.unwrap();
    assert!(ends.low < 0.75 && ends.high > 0.75, "{ends:?}");
}

/// A shift of a whole stratum, such as a taxon that always loses more, changes nothing; nor does the unit of a measure.
#[test]
fn strata_and_units_do_not_matter() {
    let first = pairs(&X[..5], &Y[..5]);
    let second = pairs(&X[5..], &Y[5..]);
    let shifted: Vec<(f64, f64)> = second.iter().map(|(x, y)| (x + 10.0, y + 5.0)).collect();
    let whole = [first.clone(), second];
    let moved = [first, shifted];
    near(rho(&whole).unwrap(), rho(&moved).unwrap(), 1e-12);
    near(slope(&whole).unwrap(), slope(&moved).unwrap(), 1e-9);
    let scaled: Vec<Vec<(f64, f64)>> = whole
        .iter()
        .map(|set| set.iter().map(|(x, y)| (x * 1.8 + 32.0, *y)).collect())
        .collect();
    near(rho(&scaled).unwrap(), rho(&whole).unwrap(), 1e-12);
    near(slope(&scaled).unwrap() * 1.8, slope(&whole).unwrap(), 1e-12);
}

#[test]
fn without_spread_there_is_no_association() {
    assert!(association(&[pairs(&[1.0, 1.0, 1.0], &Y[..3])], &HOW, 99).is_none());
    assert!(association(&[vec![(1.0, 2.0)], vec![(2.0, 3.0)]], &HOW, 99).is_none());
    assert!(association(&[], &HOW, 99).is_none());
    assert!(paired(&[], &HOW, 99).is_none());
}

/// Where nothing goes with anything, p at most 0.05 comes about one time in twenty.
#[test]
fn p_keeps_its_level() {
    let mut dice = struck::stats::dice::Dice::stream(7, 0);
    let how = Resampling {
        resamples: 0,
        ..HOW
    };
    let small = (0..400)
        .filter(|_| {
            let sets: Vec<Vec<(f64, f64)>> = (0..4)
                .map(|_| (0..6).map(|_| (dice.unit(), dice.unit())).collect())
                .collect();
            association(&sets, &how, 199).unwrap().p <= 0.05
        })
        .count();
    // 20 of 400 expected; 8 to 36 holds 99.9 % of binomial dice.
    assert!((8..=36).contains(&small), "{small}");
}

/// Bergsma 2013 by hand: [[8, 2], [3, 7]] has χ² = 20 · 50²/(10 · 10 · 11 · 9) = 5.050 505, φ² = 0.252 525, less 1/19
/// 0.199 894; r̃ − 1 and c̃ − 1 are 18/19.
#[test]
fn cramers_v_is_bias_corrected() {
    let mut units = Vec::new();
    for (arm, level, count) in [(0, 0, 8), (0, 1, 2), (1, 0, 3), (1, 1, 7)] {
        let unit = Membership {
            stratum: 0,
            arm,
            level,
        };
        units.extend(std::iter::repeat_n(unit, count));
    }
    let found = cramers_v(&units, 0.0, 999, 1).unwrap();
    assert_close(found.v, 0.459_346, 1e-6);
    // Fisher's exact p of the table is 0.07, that of χ² 0.025.
    assert!((0.02..0.12).contains(&found.p), "{}", found.p);
    // From the least that is wanted on it is told as it is; under it, not at all.
    assert_eq!(cramers_v(&units, found.v, 999, 1), Some(found));
    assert_eq!(cramers_v(&units, 0.46, 999, 1), None);
}

/// In pairs a fact that always goes one way is the arms over again; one that goes either way is not, and one that is
/// the same throughout says nothing.
#[test]
fn cramers_v_over_strata_counts_what_goes_one_way() {
    let pairs = |level: fn(usize, usize) -> usize| {
        let unit = |stratum, arm| Membership {
            stratum,
            arm,
            level: level(stratum, arm),
        };
        let units: Vec<Membership> = (0..10)
            .flat_map(|stratum| [unit(stratum, 0), unit(stratum, 1)])
            .collect();
        cramers_v(&units, 0.0, 999, 1)
    };
    let along = pairs(|_, arm| arm).unwrap();
    assert!(along.v > 0.999 && along.p < 0.01, "{along:?}");
    let either = pairs(|stratum, arm| (stratum + arm) % 2).unwrap();
    assert!(either.v < 0.01 && either.p > 0.5, "{either:?}");
    assert_eq!(pairs(|stratum, _| stratum), None);
}
