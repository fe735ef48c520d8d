//! Intervals of shares and planning: every row of the published values.

use struck::stats::counts::BetaBinomial;
use struck::stats::distributions::normal_quantile;
use struck::stats::shares::{Count, wilson};
use struck::stats::tables;

use super::published::{Row, rows, run};
use super::{fewest, over_clusters};

fn intervals(row: &Row) -> bool {
    let Some((method, end)) = row.quantity.rsplit_once('_') else {
        return false;
    };
    let numbers = Row::numbers(&row.dataset);
    let count = |at: usize| Count {
        x: numbers[at],
        n: numbers[at + 1],
    };
    let score = |level: f64| wilson(count(0).x, count(0).n, normal_quantile(0.5 + 0.5 * level));
    let interval = match method {
        "wilson" => score(0.95),
        "wilson90" => score(0.90),
        _ => return false,
    };
    row.check(if end == "lo" {
        interval.low
    } else {
        interval.high
    });
    true
}

fn model(text: &str) -> BetaBinomial {
    let share = Row::named(text, "p=").unwrap();
    BetaBinomial::new(share, Row::named(text, "rho=").unwrap_or(0.0)).unwrap()
}

fn planning(row: &Row) -> bool {
    let text = row.dataset.as_str();
    let whole = |key: &str| Row::named(text, key).unwrap() as u32;
    row.check(match row.quantity.as_str() {
        "diff" => {
            let n = Row::numbers(text);
            n[0] / n[1] - n[2] / n[3]
        }
        "binom_P_at_least_k" | "betabinom_P_at_least_k" => model(text)
            .counts(whole("n="))
            .at_least(whole("k=") as usize),
        "binom_smallest_n" | "betabinom_smallest_n" => {
            let assurance = Row::named(text, "assurance=").unwrap();
            let found = fewest(model(text), whole("k="), assurance, 100_000).unwrap();
            let told = Row::named(&row.source, "P at n=").unwrap();
            assert!((found.chance - told).abs() <= 5e-7, "{row:?}");
            f64::from(found.n)
        }
        "betabinom_trays_P_at_least_k" => {
            let trays = text.split(' ').next().unwrap().trim_start_matches("trays=");
            let sizes: Vec<u32> = trays.split('+').map(|n| n.parse().unwrap()).collect();
            over_clusters(model(text), &sizes).at_least(whole("k=") as usize)
        }
        _ => return prediction(row) || sample_size(row),
    });
    true
}

/// Counts of the next batch given past ones, by a beta prior.
fn prediction(row: &Row) -> bool {
    if !row.quantity.starts_with("predictive") {
        return false;
    }
    let text = row.dataset.as_str();
    let numbers = Row::numbers(text);
    let prior = if text.ends_with("jeffreys") { 0.5 } else { 1.0 };
    let (x, m, n) = (numbers[0], numbers[1], numbers[2]);
    let next = BetaBinomial::from_alpha_beta(x + prior, m - x + prior).unwrap();
    let counts = next.counts(n as u32);
    if row.quantity == "predictive_P_at_least_k" {
        row.check(counts.at_least(numbers[3] as usize));
    } else {
        let ends = format!("{};{}", counts.quantile(0.1), counts.quantile(0.9));
        assert_eq!(ends, row.expected, "{row:?}");
    }
    true
}

fn sample_size(row: &Row) -> bool {
    let part = |key: &str| Row::named(&row.dataset, key).unwrap();
    row.check(match row.quantity.as_str() {
        "fisher_exact_test_power" => fisher_power(part("n=") as u32, part("p1="), part("p2=")),
        _ => return false,
    });
    true
}

/// Power of Fisher's two-sided test at 5 %, over every pair of counts.
fn fisher_power(n: u32, first: f64, second: f64) -> f64 {
    let counts = |p: f64| BetaBinomial::new(p, 0.0).unwrap().counts(n);
    let (first, second) = (counts(first), counts(second));
    let mut power = 0.0;
    for a in 0..=n {
        for b in 0..=n {
            let table = tables::WholeTable {
                yes: [a, b],
                no: [n - a, n - b],
            };
            if tables::fisher_exact(table).p <= 0.05 {
                power += first.chance(a as usize) * second.chance(b as usize);
            }
        }
    }
    power
}

#[test]
fn every_published_row_of_shares_and_planning_is_met() {
    let all = rows("expected_proportions_planning");
    let reason = "Wilson's interval serves; no other is shown";
    let apart = "differences are permuted as whole replicates; none is taken cutting by cutting";
    let skipped = [
        ("wilson_cc_lo", reason),
        ("wilson_cc_hi", reason),
        ("clopper_pearson_lo", reason),
        ("clopper_pearson_hi", reason),
        ("newcombe10_lo", apart),
        ("newcombe10_hi", apart),
        ("newcombe11_cc_lo", apart),
        ("newcombe11_cc_hi", apart),
        (
            "fleiss_n_per_group_nocc",
            "trials are sized in batches, not in cuttings",
        ),
        (
            "fleiss_n_per_group_cc",
            "trials are sized in batches, not in cuttings",
        ),
        ("agresti_coull_lo", reason),
        ("agresti_coull_hi", reason),
        ("jeffreys_lo", reason),
        ("jeffreys_hi", reason),
        ("midp_lo", reason),
        ("midp_hi", reason),
    ];
    let checked = run(&all, &skipped, |row| planning(row) || intervals(row));
    // Left: five methods, two ends, seven shares; two methods, two ends, four differences; two sizes of four.
    assert_eq!((checked, all.len()), (195 - 70 - 16 - 8, 195));
}

#[test]
fn the_fewest_is_found_and_one_less_does_not_do() {
    let model = BetaBinomial::new(0.7, 0.2).unwrap();
    let chance = |n: u32| model.counts(n).at_least(60);
    let together = fewest(model, 60, 0.9, 10_000).unwrap();
    assert!(chance(together.n) >= 0.9 && chance(together.n - 1) < 0.9);
    assert!((chance(together.n) - together.chance).abs() < 1e-12);
    assert_eq!(fewest(model, 60, 0.999_999, 80), None);
    assert_eq!(fewest(model, 60, 0.9, 50), None);
}
