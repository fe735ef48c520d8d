//! Distribution functions and quantiles against printed tables and laws of their own.

use super::assert_close;
use struck::stats::distributions::{
    Family, Lookup, chi_square_upper, inc_beta, ln_gamma, normal_cdf, normal_quantile, t_quantile,
};

/// Abramowitz & Stegun 1964, tables 6.4 (logarithm of the gamma function) and 26.1 (normal), from memory to
/// the digits given; ln Γ(1/2) is ½ ln π.
#[test]
fn the_handbook_values_of_gamma_and_the_normal_distribution_hold() {
    assert_close(ln_gamma(0.5), 0.572_364_942_924_700, 1e-14);
    assert_close(ln_gamma(1.5), -0.120_782_237_635_245, 1e-14);
    assert_close(ln_gamma(11.0), 3_628_800.0_f64.ln(), 1e-12);
    for (z, below) in [
        (0.0, 0.5),
        (-1.0, 0.158_655_253_931_457),
        (1.0, 0.841_344_746_068_543),
        (2.0, 0.977_249_868_051_821),
        (3.0, 0.998_650_101_968_370),
        (-5.0, 2.866_515_718_792e-7),
    ] {
        assert_close(normal_cdf(z), below, 1e-14_f64.max(1e-13 * below));
    }
    assert_close(normal_cdf(f64::NEG_INFINITY), 0.0, 0.0);
    assert_close(normal_cdf(f64::INFINITY), 1.0, 0.0);
    // Percentage points, Fisher & Yates's tables with more digits.
    for (p, z) in [
        (0.95, 1.644_853_626_951_473),
        (0.975, 1.959_963_984_540_054),
        (0.995, 2.575_829_303_548_901),
    ] {
        assert_close(normal_quantile(p), z, 1e-12);
        assert_close(normal_quantile(1.0 - p), -z, 1e-12);
    }
    assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
    assert_eq!(normal_quantile(1.0), f64::INFINITY);
    for p in [1e-12, 1e-4, 0.025, 0.3, 0.5, 0.8, 0.975, 0.999] {
        assert_close(normal_cdf(normal_quantile(p)), p, 1e-13 * p.max(1e-3));
    }
}

/// Upper percentage points as printed in every table of χ² (Fisher & Yates, table IV): P = 0.05 and 0.01.
#[test]
fn printed_points_of_chi_square_have_their_tails() {
    for (df, five, one) in [
        (1.0, 3.841_459, 6.634_897),
        (2.0, 5.991_465, 9.210_340),
        (5.0, 11.070_498, 15.086_272),
        (10.0, 18.307_038, 23.209_251),
        (30.0, 43.772_972, 50.892_181),
    ] {
        assert_close(chi_square_upper(five, df), 0.05, 1e-7);
        assert_close(chi_square_upper(one, df), 0.01, 1e-7);
    }
    assert_eq!(chi_square_upper(0.0, 3.0), 1.0);
    assert_eq!(chi_square_upper(f64::INFINITY, 3.0), 0.0);
    // Two degrees of freedom: the tail is exp(−x/2).
    for x in [0.1_f64, 1.0, 7.0, 60.0] {
        assert_close(
            chi_square_upper(x, 2.0),
            (-0.5 * x).exp(),
            1e-14 + 1e-12 * (-0.5 * x).exp(),
        );
    }
}

/// I(x; a, b) for whole a and b is a binomial tail, and for a = b = 1/2 an arc sine.
#[test]
fn the_incomplete_beta_is_a_binomial_tail_and_an_arc_sine() {
    let choose = |n: u32, k: u32| (1..=k).fold(1.0, |c, i| c * f64::from(n - i + 1) / f64::from(i));
    for (a, b) in [(1, 1), (2, 3), (7, 2), (5, 20)] {
        let n = a + b - 1;
        for x in [0.001_f64, 0.1, 0.37, 0.6, 0.93] {
            let tail: f64 = (a..=n)
                .map(|k| choose(n, k) * x.powi(k as i32) * (1.0 - x).powi((n - k) as i32))
                .sum();
            assert_close(inc_beta(f64::from(a), f64::from(b), x), tail, 1e-13);
        }
    }
    for x in [1e-5_f64, 0.2, 0.5, 0.9] {
        let arc = x.sqrt().asin() * 2.0 / std::f64::consts::PI;
        assert_close(inc_beta(0.5, 0.5, x), arc, 1e-13);
    }
    assert_eq!(inc_beta(2.0, 3.0, 0.0), 0.0);
    assert_eq!(inc_beta(2.0, 3.0, 1.0), 1.0);
}

/// Upper points as printed in t tables (Fisher & Yates, table III); one and two degrees of freedom have closed
/// forms.
#[test]
fn students_t_has_its_printed_points_and_closed_forms() {
    for (df, five, one) in [
        (1.0, 12.706, 63.657),
        (3.0, 3.182, 5.841),
        (9.0, 2.262, 3.250),
        (29.0, 2.045, 2.756),
        (120.0, 1.980, 2.617),
    ] {
        assert_close(t_quantile(0.975, df), five, 5e-4);
        assert_close(t_quantile(0.995, df), one, 5e-4);
    }
    for p in [1e-4_f64, 0.025, 0.4, 0.5, 0.9, 0.975] {
        let one = (std::f64::consts::PI * (p - 0.5)).tan();
        assert_close(t_quantile(p, 1.0), one, 1e-9 * one.abs().max(1.0));
        let two = (2.0 * p - 1.0) / (2.0 * p * (1.0 - p)).sqrt();
        assert_close(t_quantile(p, 2.0), two, 1e-9 * two.abs().max(1.0));
    }
    assert_close(
        t_quantile(0.975, f64::INFINITY),
        1.959_963_984_540_054,
        1e-12,
    );
}

/// The standard forms of the families of waiting times: log-normal is the normal, Weibull's the smallest extreme value
/// (Meeker & Escobar 1998, *Statistical Methods for Reliability Data*, chapter 4), whose middle is ln ln 2.
#[test]
fn families_of_waiting_times_have_their_standard_forms() {
    let middle = std::f64::consts::LN_2.ln();
    assert_close(Family::Weibull.standard_quantile(0.5), middle, 1e-15);
    assert_close(Family::Weibull.below(0.0), 1.0 - (-1.0_f64).exp(), 1e-15);
    assert_close(Family::LogNormal.below(1.0), 0.841_344_746_068_543, 1e-14);
    for family in [Family::LogNormal, Family::Weibull] {
        assert_eq!(family.below(f64::NEG_INFINITY), 0.0);
        assert_eq!(family.below(f64::INFINITY), 1.0);
        let table = Lookup::new(family);
        for q in [0.01, 0.2, 0.5, 0.93] {
            let z = family.standard_quantile(q);
            assert_close(family.below(z), q, 1e-12);
            assert_close(table.below(z), q, 1e-5);
        }
    }
}
