//! How many to stick until so many have rooted: without spread between batches it is negative binomial. Every row of
//! reference values.

use super::fewest;
use super::published::{Row, rows, run};
use struck::stats::counts::BetaBinomial;

fn number(row: &Row, key: &str) -> f64 {
    Row::named(&row.dataset, key).unwrap()
}

/// `k` have rooted by the `n`-th cutting exactly if at least `k` of `n` root.
fn enough_by(row: &Row, n: u32) -> f64 {
    let model = BetaBinomial::new(number(row, "p="), 0.0).unwrap();
    model.counts(n).at_least(number(row, "k=") as usize)
}

fn check(row: &Row) -> bool {
    let (k, p) = (number(row, "k=") as u32, number(row, "p="));
    match row.quantity.as_str() {
        "nbinom_cuttings" => {
            let assurance = number(row, "assurance=");
            let alone = BetaBinomial::new(p, 0.0).unwrap();
            let found = fewest(alone, k, assurance, 10_000).unwrap();
            row.check(f64::from(found.n));
            let told = Row::named(&row.source, "P at n=").unwrap();
            assert!((found.chance - told).abs() < 1e-9, "{row:?}");
            // As the spread between batches goes, the beta-binomial's number goes to it, and never from below.
            let at = |rho| fewest(BetaBinomial::new(p, rho).unwrap(), k, assurance, 10_000);
            assert_eq!(at(1e-9).unwrap().n, found.n, "{row:?}");
            assert!(assurance < 0.8 || at(0.02).unwrap().n >= found.n, "{row:?}");
        }
        "nbinom_enough_by" => row.check(enough_by(row, number(row, "n=") as u32)),
        "nbinom_last_at" => {
            let n = number(row, "n=") as u32;
            row.check(enough_by(row, n) - enough_by(row, n - 1));
        }
        _ => return false,
    }
    true
}

#[test]
fn the_fewest_without_spread_are_the_negative_binomials() {
    let all = rows("expected_negative_binomial");
    assert_eq!((run(&all, &[], check), all.len()), (176, 176));
}

/// Until the first has rooted it is geometric, and the number has a closed form: ln(1 − assurance) / ln(1 − p), rounded up.
#[test]
fn the_first_to_root_is_geometric() {
    for p in [0.05_f64, 0.21, 0.47, 0.73, 0.94] {
        for assurance in [0.55_f64, 0.83, 0.91, 0.97] {
            let found = fewest(BetaBinomial::new(p, 0.0).unwrap(), 1, assurance, 1000).unwrap();
            let closed = ((1.0 - assurance).ln() / (1.0 - p).ln()).ceil();
            assert_eq!(f64::from(found.n), closed, "{p} {assurance}");
        }
    }
}
