//! Logarithms of our own against the system's.

use proptest::prelude::*;
use struck::stats::logs::ln;

/// How many numbers lie between two.
fn apart(a: f64, b: f64) -> u64 {
    (a.to_bits() as i64).abs_diff(b.to_bits() as i64)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]

    #[test]
    fn any_number_is_within_one_unit_in_the_last_place(
        number in prop_oneof![f64::MIN_POSITIVE..1e-300, 1e-12..1.0, 0.99..1.01_f64, 1.0..f64::MAX],
    ) {
        prop_assert!(apart(ln(number), number.ln()) <= 1, "{number:e}");
    }
}

#[test]
fn the_ends_of_the_range() {
    assert_eq!(ln(1.0), 0.0);
    assert_eq!(ln(f64::MIN_POSITIVE), f64::MIN_POSITIVE.ln());
    assert_eq!(ln(f64::MAX), f64::MAX.ln());
    for nothing in [0.0, -0.0, -1.0, 1e-310] {
        assert_eq!(ln(nothing), f64::NEG_INFINITY);
    }
}
